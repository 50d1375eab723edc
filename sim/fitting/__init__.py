"""Bounded weighted least squares with what it leaves open: intervals, directions that nothing tells, goodness."""
