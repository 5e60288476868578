"""Arrays only: probability over faults and the value of a check."""
