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
    return counted("jobs", jobs, "one per core") or os.cpu_count() or 1


def counted(name: str, number: int, nothing: str) -> int:
    """A number of something, 0 or more; `nothing` says what 0 means.

    Raises
    ------
    TypeError
        When it is no whole number.
    ValueError
        When it is below 0.
    """
    if not isinstance(number, Integral) or isinstance(number, bool):
        raise TypeError(f"{name} is {number!r}; a whole number is needed: 0 for {nothing}, or more")
    if number < 0:
        raise ValueError(f"{name} is {number}; it must be 0 ({nothing}) or more")
    return int(number)
