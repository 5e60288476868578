"""Meters, scopes and supplies that answer by themselves: SCPI over network, USB or serial."""
