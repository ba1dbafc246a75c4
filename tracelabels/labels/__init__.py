"""Room labels."""
