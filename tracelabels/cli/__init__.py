"""Room cli."""
