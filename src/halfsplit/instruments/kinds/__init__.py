"""One kind of instrument per file."""
