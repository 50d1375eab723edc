"""The trains that couplers join in one note: which part is of which, and what people call it there."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import takewhile

from keyaction.plots.style import reading
from keyaction.sim.figures.pallets import pallets
from keyaction.sim.files.labelled import Result

COUPLERS = "couplers"
"""What the couplers of a note are called together."""


@dataclass(frozen=True)
class Joined:
    """One of the trains of a coupled note.

    Attributes
    ----------
    label : str
        Of its division, or `COUPLERS`.
    prefix : str
        How the names of its parts begin; empty of the played train.
    parts : tuple of str
        Those that move, in train order.
    """

    label: str
    prefix: str
    parts: tuple[str, ...]

    def bare(self, name: str) -> str:
        """A part, or a share of it, as its division's case calls it."""
        return name.removeprefix(self.prefix)


def roles(result: Result) -> dict[str, str]:
    """Role of every part by its name; nothing where the result does not tell."""
    if "figure_role" not in result:
        return {}
    return {str(part): str(role) for part, role in zip(result["figure_part"], result["figure_role"], strict=True)}


def joined_trains(result: Result) -> list[Joined]:
    """The trains of a coupled result, the played one first and the couplers last; none where keys stand alone."""
    known = roles(result)
    labels = {one.name: one.label for one in pallets(result)}
    groups: list[list[str]] = []
    couplers = []
    for part in reading.parts(result):
        if known.get(part) == "coupler":
            couplers.append(part)
        elif known.get(part) == "key" or not groups:
            groups.append([part])
        else:
            groups[-1].append(part)
    if len(groups) < 2 and not couplers:
        return []
    called = [next((labels[part] for part in group if part in labels), group[0]) for group in groups]
    found = [
        Joined(label, _prefix(group) if i else "", tuple(group))
        for i, (label, group) in enumerate(zip(called, groups, strict=True))
    ]
    return [*found, *([Joined(COUPLERS, "", tuple(couplers))] if couplers else [])]


def _prefix(parts: list[str]) -> str:
    """What the names of a train's parts begin with, a hyphen at its end."""
    words = [part.split("-") for part in parts]
    alike = list(takewhile(lambda column: len(set(column)) == 1, zip(*words, strict=False)))
    return "".join(f"{column[0]}-" for column in alike)
