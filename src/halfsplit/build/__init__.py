"""Board and parts to arrays for the solver; faults to a batch of cases."""
