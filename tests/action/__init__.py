"""The action, and the examples for other services, run for real: `runner.py` runs the shell steps of a composite action as the service does."""
