"""Tests of what runs later."""
