"""What measurements cannot tell apart, in words."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from keyaction.models.units.quantity import System, format_value
from keyaction.sim.calibration.unknowns import Unknown
from keyaction.sim.fitting.spread import Direction

TAKES_PART = 0.2
"""Share of a direction's greatest part from which an unknown takes part in it."""


def untold_words(untold: Sequence[Direction], of: Sequence[Unknown], units: System) -> list[str]:
    """A sentence for each set of unknowns that are not told apart; sets that overlap are one.

    Parameters
    ----------
    untold : sequence of Direction
        Beginnings of strokes stand behind the unknowns and are left out.
    of : sequence of Unknown
    units : {"trade", "si"}
    """
    alone, groups = _sets(untold, len(of))
    told = [f"{of[i].name} does not show in what was measured." for i in alone]
    return told + [_words(*group, of, units) for group in groups]


def beside_words(untold: Sequence[Direction], of: Sequence[Unknown], hidden: Sequence[int]) -> list[str]:
    """Why unknowns are not told that no sentence of `untold_words` names: what the others are off by moves them.

    Parameters
    ----------
    untold : sequence of Direction
    of : sequence of Unknown
    hidden : sequence of int
        Unknowns that are not told for want of those directions.
    """
    alone, groups = _sets(untold, len(of))
    named = {*alone, *(i for _, parts in groups for i in parts)}
    causes: dict[tuple[int, ...], list[str]] = {}
    for i in (i for i in hidden if i not in named and untold):
        most = max(untold, key=lambda one: (abs(one.vector[i]) * one.half, abs(one.vector[i])))
        causes.setdefault(tuple(_parts(most, len(of))), []).append(of[i].name)
    return [
        f"{listed(names)} {'is' if len(names) == 1 else 'are'} not told either: what "
        f"{listed([of[i].name for i in parts], 'or')} may be off by looks the same."
        for parts, names in causes.items()
    ]


def listed(names: Sequence[str], last: str = "and") -> str:
    """Names in a sentence."""
    return f"{', '.join(names[:-1])} {last} {names[-1]}" if len(names) > 1 else "".join(names)


def _sets(untold: Sequence[Direction], size: int) -> tuple[list[int], list[tuple[list[Direction], list[int]]]]:
    """Unknowns that do not show by themselves, and groups of those that are not told apart."""
    sets = [(one, _parts(one, size)) for one in untold]
    alone = list(dict.fromkeys(parts[0] for _, parts in sets if len(parts) == 1))
    return alone, _joined([(one, [i for i in parts if i not in alone]) for one, parts in sets if len(parts) > 1])


def _parts(one: Direction, size: int) -> list[int]:
    """The unknowns that take part in a direction, most first."""
    own = np.abs(one.vector[:size])
    return [int(i) for i in np.argsort(-own) if own[i] > TAKES_PART * float(np.max(own))]


def _joined(sets: Sequence[tuple[Direction, list[int]]]) -> list[tuple[list[Direction], list[int]]]:
    """Directions with an unknown in common, and all unknowns of each such group."""
    groups = list[tuple[list[Direction], list[int]]]()
    for one, parts in sets:
        touched = [group for group in groups if set(group[1]) & set(parts)]
        groups = [group for group in groups if not set(group[1]) & set(parts)]
        members = [i for group in touched for i in group[1]] + parts
        groups.append(([*(d for group in touched for d in group[0]), one], list(dict.fromkeys(members))))
    return [group for group in groups if group[1]]


def _words(directions: Sequence[Direction], parts: Sequence[int], of: Sequence[Unknown], units: System) -> str:
    names = [of[i].name for i in parts]
    if len(parts) == 1:
        return f"{names[0]} does not show by itself in what was measured."
    if len(directions) >= len(parts):
        return f"{listed(names)} do not show in what was measured."
    if len(parts) > 2 or len(directions) > 1:
        return f"{listed(names)} show only together: not told one by one."
    return f"{listed(names)} show only {_together(directions[0], of, parts, units)}"


def _together(one: Direction, of: Sequence[Unknown], parts: Sequence[int], units: System) -> str:
    """As a sum, a difference, a product or a quotient; and how much of the one passes for how much of the other."""
    first, other = parts
    against = one.vector[first] * one.vector[other] < 0.0
    factors = [of[i].kind.log or of[i].kind.unit == "1" for i in parts]
    if all(factors):
        return f"as their {'product' if against else 'quotient'}: not told one by one."
    pair = [abs(float(one.vector[i])) * of[i].kind.span for i in parts]
    if any(factors):
        word = "less" if against else "more"
        return f"together: more of the one looks like {word} of the other."
    step = _round(pair[0])
    told = [
        format_value(step, of[first].kind.unit, units),
        format_value(step * pair[1] / pair[0], of[other].kind.unit, units),
    ]
    what = "sum" if against else "difference"
    return f"as their {what}: {told[0]} of {of[first].name} passes for {told[1]} of {of[other].name}."


def _round(value: float) -> float:
    return float(10 ** math.floor(math.log10(value)))
