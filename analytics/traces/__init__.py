"""What one repetition says: kinematics, boundaries, sticking region."""
