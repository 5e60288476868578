"""Reading captures: voltage to logic, phases to steps, stage against stage, currents and rails."""
