"""What to load next, in which variant, range and stance."""
