"""How many processes or threads are wanted."""

from __future__ import annotations

import os
from numbers import Integral


def workers(jobs: int) -> int:
    """So many as `jobs` says; 0 means one per core.

    Raises
    ------
    TypeError
        When it is no whole number.
    ValueError
        When it is below 0.
    """
    if not isinstance(jobs, Integral) or isinstance(jobs, bool):
        raise TypeError(f"jobs is {jobs!r}; a whole number is needed: 0 for one per core, or more")
    if jobs < 0:
        raise ValueError(f"jobs is {jobs}; it must be 0 (one per core) or more")
    return int(jobs) or os.cpu_count() or 1
