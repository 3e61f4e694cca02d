"""Merging a later file of the same city: matched, compared, told in a dry run, written, put back."""
