"""Names of the rollers of a board: on their shafts, else beside them, where nothing strikes through."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from keyaction.models.instrument.board import Board
from keyaction.models.notes import Naming, note_name
from keyaction.plots.drawings.boxes import overlap
from keyaction.plots.drawings.cuts import RollerCut
from keyaction.plots.drawings.drawing import Circle, Item, Stroke, Text, Xy
from keyaction.plots.drawings.lettering import BELOW, SMALL, corners, width

MM = 1000.0
_OFF, _FAR, _STEP = 0.8, 12.0, 0.5
"""mm on paper from a roller to its name beside it: least, most, and from place to place that is tried."""
_OVER = BELOW * SMALL + 0.3
"""mm on paper from the axis of a row to the foot of a name above it."""
_OWN = 1.5
"""So many times as far as its own roller the next one of the row is from a name at least."""


def level_of(board: Board, note: int) -> float:
    """Height of a roller's axis above the lower edge of the board, mm."""
    return (board.rollers[note].row + 0.5) * board.sizes.row * MM


def roller_names(
    board: Board, cuts: Sequence[RollerCut], items: Sequence[Item], factor: float, naming: Naming, arm: float
) -> tuple[list[Text], list[str]]:
    """Names of rollers, and those that find no room.

    Parameters
    ----------
    board : Board
    cuts : sequence of RollerCut
    items : sequence
        What else stands on the drawing.
    factor : float
        Paper over real.
    naming : {"scientific", "trade", "german"}
    arm : float
        Thickness of an arm, m.
    """
    shapes = list(_shapes(items, factor))
    rods = [item for item in items if isinstance(item, Stroke) and item.layer == "RODS"]
    found, nameless = list[Text](), list[str]()
    for cut in cuts:
        name, y = note_name(cut.note, naming), level_of(board, cut.note)
        text = _on(cut, name, y, rods, factor, arm) or _beside(board, cuts, cut, name, shapes, factor)
        if text is None:
            nameless.append(name)
        else:
            found.append(text)
            shapes.append(corners(text, factor))
    return found, nameless


def _on(cut: RollerCut, name: str, y: float, rods: Sequence[Stroke], factor: float, arm: float) -> Text | None:
    """A name on its shaft, where there is room between the rods that pass and the roller's own arms."""
    size = SMALL / factor
    half = MM * (cut.bearings[1] - cut.bearings[0] - cut.room) / 2
    left, right = MM * cut.bearings[0] + half, MM * cut.bearings[1] - half
    own = [] if cut.bent else [(MM * (at - arm / 2), MM * (at + arm / 2)) for at in (cut.key, cut.pallet)]
    ways = [[*sorted(point[1] for point in rod.points), rod.points[0][0]] for rod in rods]
    passing = [(x, x) for low, high, x in ways if low - size < y < high + size and left < x < right]
    begin, end = max(_gaps(left, right, sorted([*own, *passing])), key=lambda gap: gap[1] - gap[0])
    thick = MM * cut.stock.width
    if end - begin > (width(name, SMALL) + 1.5) / factor and (math.isnan(thick) or thick * factor > SMALL + 0.8):
        return Text(((begin + end) / 2, y), name, SMALL, across="middle", along="middle", of="note on its roller")
    return None


def _gaps(left: float, right: float, stops: Sequence[tuple[float, float]]) -> Iterator[tuple[float, float]]:
    """What is free between stops (from, to; rising) from left to right."""
    for begin, end in stops:
        yield left, begin
        left = max(left, end)
    yield left, right


def _beside(
    board: Board, cuts: Sequence[RollerCut], cut: RollerCut, name: str, shapes: Sequence[Sequence[Xy]], factor: float
) -> Text | None:
    """A name beside its roller, above or below the axis of the row; the nearest that meets nothing.

    None where rows are so near on paper that it would stand between two.
    """
    if MM * board.sizes.row * factor < 2 * (_OVER + SMALL):
        return None
    y, (left, right) = level_of(board, cut.note), _ends(board, cut)
    row = board.rollers[cut.note].row
    others = [_ends(board, one) for one in cuts if one is not cut and board.rollers[one.note].row == row]
    for step in range(round((_FAR - _OFF) / _STEP) + 1):
        off = (_OFF + step * _STEP) / factor
        for at in (right + off, left - off):
            for up in (_OVER, -0.6 - SMALL):
                begin = at if at > right else at - width(name, SMALL) / factor
                text = Text((begin, y + up / factor), name, SMALL, of="note beside its roller")
                box = corners(text, factor)
                near = any(a < box[1][0] + _OWN * off and box[0][0] - _OWN * off < b for a, b in others)
                if not near and not any(overlap(box, shape) for shape in shapes):
                    return text
    return None


def _ends(board: Board, cut: RollerCut) -> tuple[float, float]:
    """Across, of all that is drawn of a roller, mm."""
    reach = board.sizes.bearing / 2
    places = [cut.key, cut.pallet, *(end + side for end in cut.bearings for side in (-reach, reach))]
    return MM * min(places), MM * max(places)


def _shapes(items: Sequence[Item], factor: float) -> Iterator[Sequence[Xy]]:
    """Convex outlines that lettering must not meet; of the board its edges."""
    for item in items:
        if isinstance(item, Text):
            yield corners(item, factor)
        elif isinstance(item, Circle):
            (x, y), r = item.centre, item.radius
            yield (x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)
        elif isinstance(item, Stroke) and item.closed and item.layer != "OUTLINE":
            yield item.points
        elif isinstance(item, Stroke):
            ends = (*item.points, item.points[0]) if item.closed else item.points
            yield from pairwise(ends)
