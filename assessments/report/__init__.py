"""The written report: pictures and documents. It reads results; it computes nothing of its own."""
