"""Journeys: the real server and worker, from the first file to the last report."""
