"""Why designs failed: reasons that differ by their figures alone are one."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping

_FIGURE = re.compile(r"(?<![\w.#♯])(?<!\w-)-?\d+(?:\.\d+)?(?:e[+-]?\d+)?(?!\w|\.\d)")
"""A number, but not one that is part of a name, such as that of a note."""


def by_cause(reasons: Iterable[str]) -> dict[str, str]:
    """Each reason as it is told of all that have its cause: figures that differ as from where to where they go.

    Examples
    --------
    >>> from keyaction.sim.analysis.reasons import by_cause
    >>> set(by_cause(["the square turns by 0.52 rad", "the square turns by 0.6 rad"]).values())
    {'the square turns by 0.52 to 0.6 rad'}
    """
    groups: dict[tuple[str, ...], list[str]] = {}
    for reason in dict.fromkeys(reasons):
        groups.setdefault(tuple(_FIGURE.split(reason)), []).append(reason)
    return {reason: told for group in groups.values() for told in [_together(group)] for reason in group}


def counted_by_cause(reasons: Mapping[str, int]) -> Counter[str]:
    """How many have each cause."""
    told, found = by_cause(reasons), Counter[str]()
    for reason, count in reasons.items():
        found[told[reason]] += count
    return found


def _together(reasons: list[str]) -> str:
    columns = iter(zip(*(_FIGURE.findall(reason) for reason in reasons), strict=True))

    def ends(_: re.Match[str]) -> str:
        figures = sorted(next(columns), key=float)
        return figures[0] if float(figures[0]) == float(figures[-1]) else f"{figures[0]} to {figures[-1]}"

    return _FIGURE.sub(ends, reasons[0])
