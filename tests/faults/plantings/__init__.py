"""The plantings, one file (or several that begin with its name) for each family of rules; each has a tuple `PLANTINGS`."""
