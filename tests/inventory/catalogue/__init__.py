"""Tests of the species catalogue."""
