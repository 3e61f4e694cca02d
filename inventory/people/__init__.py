"""Who uses the service, for whom they work, in which role."""
