"""Tests of methods/truth."""
