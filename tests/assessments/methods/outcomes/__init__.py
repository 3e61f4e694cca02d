"""Tests of methods/outcomes."""
