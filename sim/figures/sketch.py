"""The train of a note as a drawing in text, from the finger down to the wind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from keyaction.models.train.train import Train, TrainPart
from keyaction.models.units.quantity import System as UnitSystem
from keyaction.models.units.quantity import format_value
from keyaction.sim.statics.kinematics import kinematics

_WIDE = 46


@dataclass(frozen=True)
class Rigid:
    """The resting train, nothing giving way.

    Attributes
    ----------
    ways : mapping of (part, place) to float
        Way per key way of every rod (its pallet's end last) and of a shaft (1/m).
    turns : mapping of (part, piece) to float
        Turn per key way of every body, 1/m.
    masses : mapping of part to float
        Effective mass at the key, kg.
    last : float
        Way per key way of the last rod, which opens the pallet.
    """

    ways: Mapping[tuple[str, str], float]
    turns: Mapping[tuple[str, str], float]
    masses: Mapping[str, float]
    last: float

    def way(self, part: str) -> float | None:
        """Way per key way of a rod; of one in pieces, at its end on the side of the pallet."""
        return self.ways.get((part, ""), self.ways.get((part, "out")))


def rigid(train: Train) -> Rigid:
    """Ratios and effective masses of the resting train, nothing giving way."""
    found = kinematics(train.structure)
    p = np.array(train.vector(found.layout.parameters))
    q = np.zeros(len(found.coordinates))
    ways = {
        (link.element.part, link.element.place): float(way)
        for link, way in zip(found.links, found.way_ratios(q, p), strict=True)
    }
    turns = {
        (body.part, body.piece): float(turn) for body, turn in zip(found.layout.bodies, found.ratios(q, p), strict=True)
    }
    pallet = train.role("pallet").name
    opens = next(link for link in reversed(found.links) if found.layout.bodies[link.downstream].part == pallet)
    last = ways[opens.element.part, opens.element.place]
    return Rigid(ways, turns, found.effective_masses(q, p), last)


def static_pluck(train: Train) -> float:
    """Key force (N) that opens the pallet, by levers alone: wind, spring and weight at the eye times the ratio,
    no friction and no weights of the rods. Of a pneumatic lever what opens its inlet."""
    found = rigid(train)
    for before, part in pairwise(train.parts):
        if "inlet_force" in part.values.derived and (way := found.way(before.name)) is not None:
            return part.figure("inlet_force") * way
    pallet = train.role("pallet")
    return (pallet.figure("wind_at_eye") + pallet.figure("closing_no_wind")) * found.last


def sketch(train: Train, system: UnitSystem = "trade") -> str:
    """A drawing of the train, 80 columns: each body a box, each rod a line, with what it does and weighs.

    The right-hand columns give the way of each rod per 1 mm of key travel, and the effective mass of each
    part at the key front.
    """
    found = rigid(train)
    lines = [f"{'':{_WIDE + 13}}way per mm effective", f"{'  finger':{_WIDE + 13}}of key          mass"]
    for part in train.parts:
        ratio = found.way(part.name)
        way = f"{ratio:.3f}" if ratio is not None else ""
        mass = format_value(found.masses[part.name], "kg", system) if part.name in found.masses else ""
        lines += _drawn(part, way, mass, system)
    return "\n".join(line.rstrip() for line in lines)


def _drawn(part: TrainPart, way: str, mass: str, system: UnitSystem) -> list[str]:
    """A part's lines of the drawing."""
    derived = part.values.derived

    def shown(name: str) -> str:  # an own part may leave out what the one it is made from tells
        return format_value(derived[name].value, derived[name].unit, system) if name in derived else "-"

    told = part.part.brief(part.values, shown)
    if part.role == "rod":
        arrow = {1.0: "v", -1.0: "^"}.get(part.figure("down") if "down" in derived else 0.0, ">")
        return ["    |", _line(f"    {arrow} {part.name} ({part.kind}): {told}", way, mass), "    |"]
    if part.role in ("spring", "groove", "box"):
        return [_line(f"    + {part.name}: {told}", way, mass)]
    return [_line(f"  [ {part.name} ] {told}", way, mass)]


def _line(left: str, way: str, mass: str) -> str:
    room = _WIDE + 13
    if len(left) <= room:
        return f"{left:{room}}{way:>6}  {mass:>12}"
    return f"{left}\n{'':{room}}{way:>6}  {mass:>12}"
