"""Real inventories made by others; each test says how its counts were established."""
