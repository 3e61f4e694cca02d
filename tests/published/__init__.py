"""Checks against published standards, tables and counts: one file a source."""
