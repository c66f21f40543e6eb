"""Pages: choose, fetch, draw, explain."""
