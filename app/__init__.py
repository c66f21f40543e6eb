"""The dashboard: thin pages over the library's result tables."""
