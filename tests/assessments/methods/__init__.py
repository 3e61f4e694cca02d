"""Tests of the computing core."""
