"""Tables of a note's path: its levers and its rods."""

from __future__ import annotations

import math
from collections.abc import Sequence

from keyaction.models.instrument.measure import between as true_angle
from keyaction.models.instrument.path import Path, Turn
from keyaction.plots.drawings.cuts import RodCut, RollerCut
from keyaction.plots.drawings.table import Table

_MM = 1000.0


def lever_table(path: Path, rollers: Sequence[RollerCut], note: int) -> Table:
    """Places of axes, lengths of arms, the angle between them; of a roller its length too."""
    headings = ("part", "back", "up", "in arm", "out arm", "between", "long")
    roller = next((one for one in rollers if one.note == note), None)
    rows = []
    for turn in path.turns:
        arms = (_arm(turn, "in"), _arm(turn, "out"))
        long = told(_MM * roller.between) if roller and turn.kind == "roller" else ""
        between = "" if (angle := true_angle(turn)) is None else f"{math.degrees(angle):.1f}°"
        rows.append((turn.part, told(_MM * turn.near[1]), told(_MM * turn.near[2]), *arms, between, long))
    if not any(row[-1] for row in rows):
        return Table("Axes and true arms, mm", headings[:-1], [row[:-1] for row in rows])
    return Table("Axes and true arms, mm; long: between the arms", headings, rows)


def rod_table(rods: Sequence[RodCut]) -> Table:
    """Lengths between ends, lengths to cut, and angles."""
    headings = ("rod", "between ends", "cut", "slope", "splay")
    rows = [
        (
            rod.part,
            f"{_MM * rod.between:.2f}",
            f"{_MM * rod.cut:.1f}",
            _degrees(rod.slope),
            _degrees(rod.splay),
        )
        for rod in rods
    ]
    allowance = _MM * rods[0].allowance if rods else 0.0
    return Table(f"Rods, mm; cut: with {allowance:g} mm at each end", headings, rows)


def _arm(turn: Turn, which: str) -> str:
    axis, end = (turn.near, turn.in_end) if which == "in" else (turn.far, turn.out_end)
    return "" if end is None else told(_MM * math.dist(axis, end))


def told(number: float) -> str:
    """A length in mm to a tenth, without needless noughts."""
    return f"{number:z.1f}".rstrip("0").rstrip(".")


def _degrees(angle: float) -> str:
    return "" if math.isnan(angle) else f"{math.degrees(angle):z.2f}°"
