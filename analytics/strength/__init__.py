"""What the log says: strength over time and ratios between variants."""
