"""Tests of the invented demo city."""
