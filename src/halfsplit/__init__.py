"""Find the one bad part on an old electronic board: what to measure next, and what to repair."""
