"""Outlines of key, roller and pallet in the side view."""

from __future__ import annotations

import math
from collections.abc import Iterator

from keyaction.cases.action.case import Case
from keyaction.models.instrument.path import Path, Turn
from keyaction.models.instrument.place import Point
from keyaction.plots.drawings.drawing import Item, Stroke, Xy
from keyaction.plots.drawings.stock import number

_MM = 1000.0


def flat(point: Point) -> Xy:
    """A point as the side view shows it: back to the right, up upwards, mm."""
    return _MM * point[1], _MM * point[2]


def bodies(case: Case, path: Path, note: int) -> Iterator[Item]:
    """Outlines of key, roller and pallet, as far as the case gives sizes; they carry no dimension."""
    for turn in path.turns:
        part = next((one for one in case.parts if one.name == turn.part), None)
        if turn.kind.startswith("key"):
            yield from _key_body(turn, _MM * number(part, note, "height"))
        elif turn.kind == "roller":
            width = _MM * number(part, note, "width")
            (x, y), half = flat(turn.near), width / 2
            if not math.isnan(half):
                corners = ((x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half))
                yield Stroke("ROLLERS", corners, closed=True)
        elif turn.kind == "pallet" and turn.in_end:
            yield from _pallet_body(turn, _MM * number(part, note, "thickness"))


def _key_body(turn: Turn, height: float) -> Iterator[Item]:
    if turn.in_end is None or turn.out_end is None or math.isnan(height):
        return
    backs = [_MM * point[1] for point in (turn.near, turn.in_end, turn.out_end)]
    low, high, y = min(backs) - height / 2, max(backs) + height / 2, _MM * turn.near[2]
    outline = ((low, y - height / 2), (high, y - height / 2), (high, y + height / 2), (low, y + height / 2))
    yield Stroke("NATURALS", outline, closed=True)


def _pallet_body(turn: Turn, thick: float) -> Iterator[Item]:
    """A strip from the hinge past the eye, on the side away from the rod that pulls it down."""
    if turn.in_end is None or math.isnan(thick):
        return
    (hx, hy), (ex, ey) = flat(turn.near), flat(turn.in_end)
    size = math.hypot(ex - hx, ey - hy)
    if size < 1e-6:
        return
    u = ((ex - hx) / size, (ey - hy) / size)
    n = (-u[1], u[0]) if u[0] >= 0 else (u[1], -u[0])
    far = (hx + u[0] * (size + thick), hy + u[1] * (size + thick))
    back = [(far[0] + n[0] * thick, far[1] + n[1] * thick), (hx + n[0] * thick, hy + n[1] * thick)]
    yield Stroke("PALLETS", ((hx, hy), far, *back), closed=True)
