"""How it runs: settings, start and stop, the demo city, benchmarks."""
