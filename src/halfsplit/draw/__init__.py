"""Schematic drawing: layout and SVG."""
