"""Strict GeoJSON and the list of coordinate reference systems."""
