"""A planar chain: its geometry, what loads it, and the largest load it holds."""
