"""Reading people's files: columns, rows, names; nothing is guessed silently."""
