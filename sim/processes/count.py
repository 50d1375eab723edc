"""How many processes or threads are wanted."""

from __future__ import annotations

import os


def workers(jobs: int) -> int:
    """So many as `jobs` says; 0 means one per core.

    Raises
    ------
    ValueError
        If it is negative or no whole number.
    """
    if isinstance(jobs, bool) or not isinstance(jobs, int) or jobs < 0:
        raise ValueError(f"jobs = {jobs!r}: must be a whole number, 0 (one per core) or more")
    return jobs or os.cpu_count() or 1
