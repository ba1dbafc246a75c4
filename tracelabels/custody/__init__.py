"""Room custody."""
