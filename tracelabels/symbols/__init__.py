"""Room symbols."""
