"""Benchmarks that set our work beside the raw database doing the same work in the same run."""

import os

# Before numpy is loaded: figures are those of one core, and threads that wait would count as processor time.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
