"""Tests of methods/agreement."""
