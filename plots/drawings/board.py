"""The roller board: rows, shafts, arms, bearings, and the rods that pass."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from keyaction.models.instrument.board import Board
from keyaction.models.notes import Naming, note_name
from keyaction.plots.drawings.cuts import RollerCut
from keyaction.plots.drawings.drawing import Circle, Dimension, Drawing, Item, Stroke, Text
from keyaction.plots.drawings.lettering import SMALL
from keyaction.plots.drawings.names import Beside, Row, beside
from keyaction.plots.drawings.paper import Scale
from keyaction.plots.drawings.placing import oblong
from keyaction.plots.drawings.roller_names import MM, level_of, roller_names

EDGE = 0.02
"""m of board beyond the outer bearings (common practice)."""
ARM = (0.008, 0.015)
"""Thickness and width of an arm where the case does not say, m (common practice); for the drawing only."""
_BEYOND, _ROW_ROOM = 6.0, 4.0
"""mm on paper: rods beyond the board, and of a row that bears a number."""
_NEAR = 1.5
"""Room that there is, over that needed, up to which it is drawn."""
_TOLD = 8
"""Rollers without a name that are told one by one."""


def edges(board: Board) -> tuple[float, float]:
    """Across, of the left and right edge of a board, m."""
    half = (board.sizes.wire if board.sizes.inside else board.sizes.bearing) / 2 + EDGE
    places = [
        place
        for roller in board.rollers.values()
        for place in ((roller.key, roller.pallet) if board.sizes.inside else roller.bearings)
    ]
    return min(places) - half, max(places) + half


def board_drawing(
    board: Board,
    cuts: Sequence[RollerCut],
    scale: Scale,
    naming: Naming = "scientific",
    arm: tuple[float, float] = ARM,
    remarks: Sequence[str] = (),
) -> Drawing:
    """A roller board from the front; of a level one from above.

    Parameters
    ----------
    board : Board
    cuts : sequence of RollerCut
        Its rollers.
    scale : Scale
    naming : {"scientific", "trade", "german"}
    arm : (float, float)
        Thickness along the shaft, and width, of an arm, m.
    remarks : sequence of str
        What else has to be said beside it.
    """
    factor = scale.factor
    items: list[Item] = [*_plate(board, factor)]
    for cut in cuts:
        items += _roller(board, cut, note_name(cut.note, naming), arm)
    rows = list(_named_rods(board, cuts, factor, naming))
    items += [item for row in rows for item in row.items]
    rods = list(_rods(board, cuts, factor))
    named, nameless = roller_names(board, cuts, [*items, *rods], factor, naming, arm[0])
    items += [*rods, *named]
    reach = max((row.reach for row in rows), default=0.0) * factor + _BEYOND
    items += _dimensions(board, reach, factor)
    what = "Roller board from above, player below" if board.sizes.stands == "level" else "Roller board from the player"
    told = (*_remarks(board, cuts), *_nameless(nameless), *remarks)
    return Drawing("board", what, scale, tuple(items), told, any(row.crowded for row in rows))


def _plate(board: Board, factor: float) -> Iterator[Item]:
    left, right = (MM * edge for edge in edges(board))
    high = MM * board.height
    yield oblong("OUTLINE", left, 0.0, right, high, of="board")
    given = board.sizes.height
    if given is not None and given < board.height - 1e-9:
        yield Stroke("WARNINGS", ((left, MM * given), (right, MM * given)), of="height given")
    step = max(1, math.ceil(_ROW_ROOM / (factor * MM * board.sizes.row)))
    for row in range(board.rows):
        y = (row + 0.5) * MM * board.sizes.row
        yield Stroke("AXES", ((left, y), (right, y)), of=f"row {row + 1}")
        if row % step == 0:
            yield Text((left - 1.5 / factor, y), f"row {row + 1}", SMALL, across="right", along="middle", of="row")


def _roller(board: Board, cut: RollerCut, name: str, arm: tuple[float, float]) -> Iterator[Item]:
    y, sizes = level_of(board, cut.note), board.sizes
    thick = MM * (cut.stock.width if not math.isnan(cut.stock.width) else 0.5 * sizes.row)
    middle, half = MM * sum(cut.bearings) / 2, MM * cut.shaft / 2 + (thick / 2 if cut.bent else 0.0)
    yield oblong("ROLLERS", middle - half, y - thick / 2, middle + half, y + thick / 2, of=f"shaft {name}")
    high = min(thick + 6.0, 0.92 * MM * sizes.row)
    left, right = cut.bearings
    for side, place in [("only", left)] if left == right else [("left", left), ("right", right)]:
        x, reach = MM * place, MM * sizes.bearing / 2
        yield oblong("BEARINGS", x - reach, y - high / 2, x + reach, y + high / 2, of=f"{side} bearing {name}")
    ends = ((MM * cut.key, y), (MM * cut.pallet, y))
    yield Stroke("AXES", ends, of=f"between the arms {name}")
    for which, (x, _) in zip(("key", "pallet"), ends, strict=True):
        if cut.bent:
            yield Circle("ARMS", (x, y), thick / 2, of=f"{which} arm {name}")
            continue
        reach, up = MM * arm[0] / 2, min(MM * arm[1], 0.8 * MM * sizes.row) / 2
        yield oblong("ARMS", x - reach, y - up, x + reach, y + up, of=f"{which} arm {name}")


def _sides(board: Board) -> tuple[tuple[str, str], ...]:
    """What comes from which side."""
    return (("key", board.sizes.keys), ("pallet", board.sizes.pallets))


def _end(board: Board, side: str, factor: float) -> float:
    """Where rods end that leave the board at a side, mm."""
    beyond = _BEYOND / factor
    return -beyond if side == "below" else MM * board.height + beyond


def _at(cut: RollerCut, which: str) -> float:
    return MM * (cut.key if which == "key" else cut.pallet)


def _rods(board: Board, cuts: Sequence[RollerCut], factor: float) -> Iterator[Item]:
    for cut in cuts:
        for which, side in _sides(board):
            x = _at(cut, which)
            yield Stroke("RODS", ((x, level_of(board, cut.note)), (x, _end(board, side, factor))), of=f"{which}'s rod")


def _named_rods(board: Board, cuts: Sequence[RollerCut], factor: float, naming: Naming) -> Iterator[Row]:
    """Names at the ends of the rods; where both go to one side, with the words key and pallet."""
    both = board.sizes.keys == board.sizes.pallets
    places: tuple[Beside, Beside] = ("below", "above")
    for side in places:
        named = [
            (_at(cut, which), note_name(cut.note, naming) + (f" {which}" if both else ""))
            for which, where in _sides(board)
            if where == side
            for cut in cuts
        ]
        yield beside(named, _end(board, side, factor), side, factor)


def _dimensions(board: Board, reach: float, factor: float) -> Iterator[Item]:
    left, right = (MM * edge for edge in edges(board))
    high, row = MM * board.height, MM * board.sizes.row
    low = -(reach + 5.0) / factor  # beyond the names: no help line goes through these
    yield Dimension((left, low), (right, low), -6.0, of="width of the board")
    yield Dimension((right, 0.0), (right, high), -16.0, of="height that the rows need")
    if board.rows > 1:
        yield Dimension((right, row / 2), (right, 1.5 * row), -8.0, of="from row to row")
    if board.sizes.height is not None and board.sizes.height <= _NEAR * board.height:
        yield Dimension((right, 0.0), (right, MM * board.sizes.height), -24.0, of="height that there is")
    if left < 0.0 < right:
        end = -(reach + 4.5) / factor
        yield Stroke("AXES", ((0.0, high), (0.0, 0.0)), of="middle of the instrument")
        yield Stroke("AXES", ((0.0, end + 3.5 / factor), (0.0, end)))
        yield Text((1.0 / factor, end), "middle of the instrument", SMALL, along="foot")


def _nameless(names: Sequence[str]) -> Iterator[str]:
    if names:
        told = ", ".join(names) if len(names) <= _TOLD else f"{len(names)} of them"
        yield f"Rollers without their name, for want of room: {told}; the names at the ends of their rods tell them."


def _remarks(board: Board, cuts: Sequence[RollerCut]) -> Iterator[str]:
    left, row = MM * edges(board)[0], MM * board.sizes.row
    rollers = "1 roller" if len(cuts) == 1 else f"{len(cuts)} rollers"
    rows = f"{board.rows} rows {row:g} mm apart" if board.rows > 1 else "1 row"
    seen = "circles: the bent ends of the wires" if any(cut.bent for cut in cuts) else "boxes with a thick edge: arms"
    yield (
        f"{rollers} on {rows}{', the fewest that there can be' if board.best else ''}. Left edge of the board "
        f"{left:.1f} mm from the middle of the instrument. Grey: bearings; {seen}, seen on their ends."
    )
    given, needed = board.sizes.height, f"{MM * board.height:.0f} mm"
    if given is not None and given < board.height - 1e-9:
        yield f"Too low: the rows need {needed}, and {MM * given:.0f} mm are given (line across the board)."
    elif given is not None:
        yield f"The rows need {needed} of the {MM * given:.0f} mm that there are."
    thick = max((cut.stock.width for cut in cuts if not math.isnan(cut.stock.width)), default=0.0)
    if thick > board.sizes.row:
        yield f"Shafts of {MM * thick:g} mm do not pass each other on rows {MM * board.sizes.row:g} mm apart."
