"""How many processes or threads somebody asks for."""

from __future__ import annotations

from numbers import Integral


def check_jobs(jobs: object) -> None:
    """Refuse what is no number of processes or threads.

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
