"""Tests of what we found and concluded."""
