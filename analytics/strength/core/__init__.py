"""Arrays only: state space, mixed-model solve, censored observations."""
