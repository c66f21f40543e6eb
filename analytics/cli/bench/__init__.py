"""How fast and how often right: the benchmark, and the simulations whose results ship.

Inputs are invented, from fixed seeds.
"""
