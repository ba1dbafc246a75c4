"""Room paper."""
