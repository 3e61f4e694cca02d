"""Tests of what stands where."""
