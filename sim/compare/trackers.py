"""Quantities of the trackers of one note taken together: a function and a row each, as for those of the whole note."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.sim.figures.registry import Quantity, Spot, registry


@dataclass(frozen=True)
class Trackers:
    """What the trackers of one note did.

    Attributes
    ----------
    rods : sequence of str
    give, mass : mapping of part to m, to kg
        The note's budgets at the key.
    grown : sequence of float
        Growth of each from winter to summer as key travel, m; NaN where it is not known.
    """

    rods: Sequence[str]
    give: Mapping[str, float]
    mass: Mapping[str, float]
    grown: Sequence[float]


def rods_mass(of: Trackers) -> float:
    """Effective mass of all trackers at the key front, at rest."""
    return sum(of.mass[rod] for rod in of.rods)


def rods_stretch(of: Trackers) -> float:
    """Key travel that the trackers' own stretch took up before the pluck; their ends left out."""
    return sum(of.give.get(rod, np.nan) for rod in of.rods)


def season_key(of: Trackers) -> float:
    """Key travel by which all trackers together grow from winter to summer, if nothing else moved: structure and
    chest move too, and only the difference counts.
    """
    whole = 0.0
    for grown in of.grown:
        whole += grown
    return whole


OF_TRACKERS = registry(
    Quantity(
        rods_mass, "kg", "trackers' effective mass", source="trackers", sense="less", tables=(Spot("compared", 80),)
    ),
    Quantity(
        rods_stretch, "m", "trackers' stretch at the key", "stretch", 2, source="trackers", sense="less",
        tables=(Spot("compared", 40), Spot("brief", 60)),
    ),
    Quantity(season_key, "m", "season at the key", source="trackers", sense="less", tables=(Spot("compared", 170),)),
)  # fmt: skip
"""Rows by name; `compute` takes the `Trackers` of a note."""
