"""Tests of methods/calibration."""
