"""Benchmarks that set our work beside the raw database doing the same work in the same run."""
