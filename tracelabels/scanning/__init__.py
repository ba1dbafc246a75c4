"""Room scanning."""
