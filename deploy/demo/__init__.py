"""The invented demo city."""
