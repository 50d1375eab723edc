"""What a sweep takes unless something else is asked for."""

JUDGE = 5
"""Designs that SciPy judges."""
