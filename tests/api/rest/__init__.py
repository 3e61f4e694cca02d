"""The REST interface, noun by noun."""
