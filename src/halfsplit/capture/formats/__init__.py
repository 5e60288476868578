"""The file formats of captures: ONE format per file, found by the registry."""
