"""Tests of the calibration by dissections."""
