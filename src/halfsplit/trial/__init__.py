"""The tool set to find known faults on boards played by an independent simulator."""
