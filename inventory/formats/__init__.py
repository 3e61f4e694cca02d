"""File formats in and out: one room for both directions."""
