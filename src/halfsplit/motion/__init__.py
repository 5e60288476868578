"""Stepping mechanisms over time: currents in, positions and sounds out. Arrays only."""
