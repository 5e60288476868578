"""Arrays only: circuit equations, DC operating points."""
