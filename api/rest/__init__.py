"""The REST interface, version 1."""
