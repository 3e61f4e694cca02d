"""The HTTP conventions."""
