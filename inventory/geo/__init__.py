"""Geometry at the doors: strict GeoJSON, and the coordinate reference systems that are known by number."""
