"""The fan: rods or backfalls that go slantwise from the line of the key to that of the pallet."""

from __future__ import annotations

import math
from collections.abc import Iterator

from keyaction.models.instrument.layout import Layout
from keyaction.models.instrument.path import Path
from keyaction.models.instrument.place import Point
from keyaction.models.notes import Naming, note_name
from keyaction.plots.drawings.drawing import Circle, Dimension, Drawing, Item, Stroke, Xy
from keyaction.plots.drawings.names import beside
from keyaction.plots.drawings.paper import Scale

_MM = 1000.0
_AXIS = 1.5
"""mm: radius of an axis of a backfall as it is drawn."""


def fan_drawing(layout: Layout, scale: Scale, naming: Naming = "scientific") -> Drawing | None:
    """The fan as it shows its splay best: from the player, or from above where it lies level.

    Returns
    -------
    Drawing or None
        None where no paths are drawn, or nothing goes slantwise.
    """
    ends = {note: found for note, path in layout.paths.items() if (found := _ends(path, layout.splayed))}
    if not ends:
        return None
    factor = scale.factor
    upright = max(abs(b[2] - a[2]) for a, b, _ in ends.values()) >= max(abs(b[1] - a[1]) for a, b, _ in ends.values())
    axis = 2 if upright else 1
    items: list[Item] = []
    for note, (start, end, middle) in ends.items():
        name = note_name(note, naming)
        items.append(Stroke("RODS", (_seen(start, axis), _seen(end, axis)), of=f"{layout.splayed} {name}"))
        if middle:
            items.append(Circle("BEARINGS", _seen(middle, axis), _AXIS, of=f"axis {layout.splayed} {name}"))
    starts = {note: _seen(found[0], axis) for note, found in ends.items()}
    stops = {note: _seen(found[1], axis) for note, found in ends.items()}
    rising = sum(stops[note][1] - starts[note][1] for note in ends) > 0
    low, high = (starts, stops) if rising else (stops, starts)
    foot, top = min(y for _, y in low.values()), max(y for _, y in high.values())
    rows = [
        beside([(x, note_name(note, naming)) for note, (x, _) in low.items()], foot, "below", factor),
        beside([(x, note_name(note, naming)) for note, (x, _) in high.items()], top, "above", factor),
    ]
    items += [item for row in rows for item in row.items]
    items += _dimensions(
        list(low.values()), list(high.values()), rows[0].reach * factor, rows[1].reach * factor, factor
    )
    what = f"Fan: {layout.splayed}, from {'the player' if upright else 'above, player below'}"
    remarks = (*_remarks(layout, naming, rising), *layout.remarks)
    return Drawing("fan", what, scale, tuple(items), remarks, any(row.crowded for row in rows))


def _ends(path: Path, part: str) -> tuple[Point, Point, Point | None] | None:
    """Ends of what goes slantwise, the key's first, and its axis where it is a lever."""
    for leg in path.legs:
        if leg.part == part:
            return leg.start, leg.end, None
    for turn in path.turns:
        if turn.part == part and turn.in_end and turn.out_end:
            return turn.in_end, turn.out_end, turn.near
    return None


def _seen(point: Point, axis: int) -> Xy:
    return _MM * point[0], _MM * point[axis]


def _dimensions(low: list[Xy], high: list[Xy], below: float, above: float, factor: float) -> Iterator[Item]:
    """Spans beyond the names at both ends, and the height between."""
    for ends, away in ((low, -(below + 1.0)), (high, above + 1.0)):
        left, right = min(ends), max(ends)
        if right[0] > left[0]:
            level = left[1] + away / factor
            yield Dimension((left[0], level), (right[0], level), 4.0 if away > 0 else -4.0, of="span of the ends")
    left_low, left_high = min(low), min(high)
    if math.dist(left_low, left_high) > 0:
        yield Dimension(left_low, left_high, 10.0, "up", of="from end to end")


def _remarks(layout: Layout, naming: Naming, rising: bool) -> Iterator[str]:
    splays = layout.figures.get(f"{layout.splayed}.splay", {})
    told = f"The keys' ends are {'below' if rising else 'above'}."
    if splays:
        note = max(splays, key=lambda one: abs(splays[one]))
        told += f" Greatest splay: {math.degrees(abs(splays[note])):.1f}°, {note_name(note, naming)}."
    yield f"{told} Lengths here are shorter than the parts, which lean out of this view too: cut by the list."
