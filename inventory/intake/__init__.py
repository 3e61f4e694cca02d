"""Foreign inventories in: read, map, check, load."""
