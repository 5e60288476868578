"""Device laws, one group per file."""
