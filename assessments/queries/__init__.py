"""Reads of the assessments."""
