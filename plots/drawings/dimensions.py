"""Dimensions taken apart into lines, ticks and figures, for printers that know no dimensions."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from keyaction.plots.drawings.drawing import Dimension, Drawing, Item, Stroke, Text, Xy
from keyaction.plots.drawings.lettering import SMALL, width

_LAYER = "DIMENSIONS"
_TICK, _BEYOND, _GAP, _LIFT = 1.4, 1.5, 1.0, 0.8
"""mm on paper: half a tick, how far help lines reach past, their gap at the thing, the figure above its line."""


def pieces(items: Iterable[Item], factor: float) -> Iterator[Item]:
    """Items with every dimension taken apart; `factor` is paper over real."""
    for item in items:
        if isinstance(item, Dimension):
            yield from _taken_apart(item, factor)
        else:
            yield item


def plain_items(drawing: Drawing) -> tuple[Item, ...]:
    """A drawing's items without dimensions as such."""
    return tuple(pieces(drawing.items, drawing.scale.factor))


def length_of(dimension: Dimension) -> float:
    """What is measured, mm."""
    dx, dy = dimension.end[0] - dimension.start[0], dimension.end[1] - dimension.start[1]
    return {"along": math.hypot(dx, dy), "across": abs(dx), "up": abs(dy)}[dimension.direction]


def figure_of(dimension: Dimension) -> str:
    """The figure as it is written, mm; no decimals of a whole number."""
    told = f"{length_of(dimension):.{dimension.places}f}"
    return told.rstrip("0").rstrip(".") if "." in told else told


def _ends(one: Dimension, factor: float) -> tuple[Xy, Xy, Xy]:
    """Ends of the dimension line, and the direction that is beside it to its left."""
    (ax, ay), (bx, by) = one.start, one.end
    away = one.away / factor
    if one.direction == "across":
        side = 1.0 if bx >= ax else -1.0
        y = (max if side * away > 0 else min)(ay, by) + side * away
        return (ax, y), (bx, y), (0.0, side)
    if one.direction == "up":
        side = -1.0 if by >= ay else 1.0
        x = (max if side * away > 0 else min)(ax, bx) + side * away
        return (x, ay), (x, by), (side, 0.0)
    size = math.hypot(bx - ax, by - ay) or 1.0
    normal = (-(by - ay) / size, (bx - ax) / size)
    return (
        (ax + normal[0] * away, ay + normal[1] * away),
        (bx + normal[0] * away, by + normal[1] * away),
        normal,
    )


def _taken_apart(one: Dimension, factor: float) -> Iterator[Item]:
    start, end, _ = _ends(one, factor)
    yield Stroke(_LAYER, (start, end), of=one.of)
    for thing, there in ((one.start, start), (one.end, end)):
        yield from _help_line(thing, there, factor)
        yield from _tick(there, math.atan2(end[1] - start[1], end[0] - start[0]), factor)
    yield _figure(one, start, end, factor)


def _help_line(thing: Xy, there: Xy, factor: float) -> Iterator[Stroke]:
    size = math.dist(thing, there)
    if size * factor > _GAP:
        u = ((there[0] - thing[0]) / size, (there[1] - thing[1]) / size)
        first, past = _GAP / factor, size + _BEYOND / factor
        begin = (thing[0] + u[0] * first, thing[1] + u[1] * first)
        yield Stroke(_LAYER, (begin, (thing[0] + u[0] * past, thing[1] + u[1] * past)))


def _tick(at: Xy, angle: float, factor: float) -> Iterator[Stroke]:
    dx, dy = (math.cos(angle + math.pi / 4) * _TICK / factor, math.sin(angle + math.pi / 4) * _TICK / factor)
    yield Stroke(_LAYER, ((at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy)))


def readable(angle: float) -> float:
    """An angle of lettering that is read from below or from the right."""
    turned = math.remainder(angle, 2 * math.pi)
    if turned > math.pi / 2 + 1e-6:
        return turned - math.pi
    return turned + math.pi if turned <= -math.pi / 2 + 1e-6 else turned


def _figure(one: Dimension, start: Xy, end: Xy, factor: float) -> Text:
    """The figure above its line; beyond the end where it has no room between the ticks."""
    words = figure_of(one)
    angle = readable(math.atan2(end[1] - start[1], end[0] - start[0]))
    u, n = (math.cos(angle), math.sin(angle)), (-math.sin(angle), math.cos(angle))
    lift = _LIFT / factor
    if width(words, SMALL) + 2 * _TICK <= math.dist(start, end) * factor:
        x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        return Text((x + n[0] * lift, y + n[1] * lift), words, SMALL, angle, "middle", "foot", _LAYER, one.of)
    far = max(start, end, key=lambda p: p[0] * u[0] + p[1] * u[1])
    x, y = (far[i] + u[i] * 2 * _TICK / factor for i in (0, 1))
    return Text((x, y), words, SMALL, angle, "left", "middle", _LAYER, one.of)
