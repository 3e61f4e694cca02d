"""Tests of the intake of foreign inventories."""
