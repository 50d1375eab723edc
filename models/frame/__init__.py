"""What holds the axes of an action apart: members with grain, and the rail that floats."""
