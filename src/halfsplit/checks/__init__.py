"""One kind of check per file."""
