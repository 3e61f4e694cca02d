"""Every way in: conventions, endpoints, the document."""
