"""Sessions, next check, explanation; no clock, no file, no database."""
