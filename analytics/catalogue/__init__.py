"""Movements, variants, muscles and segments: data with sources, and the loader."""
