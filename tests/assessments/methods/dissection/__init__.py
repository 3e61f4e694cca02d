"""Tests of methods/dissection."""
