"""What a sweep takes unless something else is asked for."""

from math import isqrt

JUDGE = 5
"""Designs that SciPy judges, at least."""
JUDGED_PER = 6
"""Of every so many in the square root of a study's designs one is judged: 16 of ten thousand, 166 of a million."""


def judged_of(designs: int) -> int:
    """How many of so many designs are judged by SciPy, where nothing else is asked for."""
    return min(designs, max(JUDGE, isqrt(designs) // JUDGED_PER))
