"""Room identifiers."""
