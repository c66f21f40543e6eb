"""The log against the model: the curve test and what would settle it."""
