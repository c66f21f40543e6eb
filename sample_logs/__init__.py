"""Logs of a rowing club that does not exist; see README.md beside this file."""
