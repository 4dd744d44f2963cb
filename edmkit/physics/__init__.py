"""Pure functions of the process: SI in, SI out, numpy arrays broadcast."""
