"""Hints for a name that is not known."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

_MANY = 16


def hint(name: str, known: Iterable[str]) -> str:
    """The end of a message about an unknown name: the nearest known one, or the known ones if they are few.

    Parameters
    ----------
    name : str
        The name that is not known.
    known : iterable of str
        The names that are.

    Returns
    -------
    str
        Begins with "; ", or is empty if there is nothing useful to say.
    """
    names = list(known)
    by_lower = {one.lower(): one for one in names}
    near = get_close_matches(name.lower(), by_lower, n=3, cutoff=0.6)
    if near:
        swapped = [one for one in near if sorted(one) == sorted(name.lower())]  # two letters changed over
        return f"; did you mean '{by_lower[(swapped or near)[0]]}'?"
    return f"; known: {', '.join(names)}" if 0 < len(names) <= _MANY else ""
