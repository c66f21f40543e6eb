"""Pulls: what they ask of elbow and shoulder, and what of it the flexors can give.

Demand, shares and lengths only: no limit load, unless measured people are met
(`checks`).
"""
