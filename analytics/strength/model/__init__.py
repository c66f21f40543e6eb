"""Sets, priors and tables: what a log is to the numeric core."""
