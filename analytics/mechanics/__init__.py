"""What anatomy and physics say about a posture, a load and a range."""
