"""Arrays only: state space, mixed-model solve, one-sided observations."""
