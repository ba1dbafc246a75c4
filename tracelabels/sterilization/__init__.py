"""Room sterilization."""
