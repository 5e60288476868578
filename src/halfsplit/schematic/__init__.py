"""Drawings of boards, as the pages, the record and the benchmarks show them."""
