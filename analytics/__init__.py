"""Stages from set logs and anatomy to a verdict; imports only go down the line."""
