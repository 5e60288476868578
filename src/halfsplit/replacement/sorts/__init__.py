"""One sort of part per file: what it stands, what may take its place."""
