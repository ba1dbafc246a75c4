"""Room legibility."""
