"""The plan: keys and pallets from above, and how each note spreads from one to the other."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property

from keyaction.cases.action.case import Case
from keyaction.models.instrument.chest import Chest, centres
from keyaction.models.instrument.chest import width as chest_width
from keyaction.models.instrument.keyboard import edges as key_edges
from keyaction.models.instrument.keyboard import front_place, fronts
from keyaction.models.instrument.layout import Layout
from keyaction.models.notes import note_name
from keyaction.plots.drawings.board import edges as board_edges
from keyaction.plots.drawings.boxes import Box, extent
from keyaction.plots.drawings.cuts import of_kind
from keyaction.plots.drawings.drawing import Dimension, Drawing, Item, Stroke
from keyaction.plots.drawings.keys import cover, fronts_told, key_outlines, zero
from keyaction.plots.drawings.names import Row, beside
from keyaction.plots.drawings.paper import Scale
from keyaction.plots.drawings.placing import oblong
from keyaction.plots.drawings.stock import number

_MM = 1000.0
_BEYOND = 2.0
"""mm on paper that named lines reach beyond all else."""
_LONG = 0.15
"""m of a pallet of which the case says no length; for the drawing only."""


def plan(case: Case, layout: Layout, scale: Scale) -> Drawing:
    """Keys and pallets from above, the player below.

    Parameters
    ----------
    case : Case
    layout : Layout
    scale : Scale
    """
    factor = scale.factor
    pallets = _Pallets(case, layout)
    items: list[Item] = [*key_outlines(layout.keyboard, case.naming), *_levers(layout), *pallets.outlines()]
    items += [*_spreading(case, layout), *_board(layout)]
    room = extent(items, 1.0)
    lines = list(_lines(layout))
    low, high = (pick([y for _, _, y in lines] + [end]) for pick, end in ((min, room.foot), (max, room.top)))
    room = Box(room.left, low, room.right, high)
    rows = [_key_names(case, pallets, room, factor), pallets.names(room, factor)]
    items += [*pallets.leaders(room), *_key_leaders(pallets, room), *(item for row in rows for item in row.items)]
    items += [*_line_names(lines, room, factor), *_dimensions(layout, pallets, room, rows)]
    remarks = (*_remarks(case, layout), *(() if layout.board else layout.remarks))
    what = "Plan of keys and pallets, the player below"
    return Drawing("plan", what, scale, tuple(items), remarks, any(row.crowded for row in rows))


def rod_back(layout: Layout, note: int) -> float:
    """How far back the key's rod stands, m; where no paths are drawn, the end of what is seen of the key."""
    path = layout.paths.get(note)
    end = path.turns[0].out_end if path else None
    return end[1] if end else cover(layout.keyboard)


def _levers(layout: Layout) -> Iterator[Item]:
    """Each key's middle line from its front to its rod, and on to its pivot."""
    middles, seen = fronts(layout.keyboard), cover(layout.keyboard)
    for note, place in layout.places.items():
        path = layout.paths.get(note)
        backs = [rod_back(layout, note)] + ([path.turns[0].near[1]] if path else [])
        far = max(backs)
        if far > seen + 1e-9:
            yield Stroke("KEYS", ((_MM * middles[note], _MM * seen), (_MM * place.key, _MM * far)))


def _lines(layout: Layout) -> Iterator[tuple[str, float, float]]:
    """What goes level over the plan and has a name: its words, where it ends at the left, how far back it is; mm."""
    left = key_edges(layout.keyboard)[0]
    for path in list(layout.paths.values())[:1]:
        key = path.turns[0]
        for what, point in (("pivots of the keys", key.near), ("rods of the keys", key.out_end)):
            if point:
                yield what, _MM * left, _MM * point[1]
    if layout.board is not None and (backs := _board_backs(layout)):
        yield "roller board", _MM * board_edges(layout.board)[1], _MM * (backs[0] + backs[1]) / 2


def _line_names(lines: Sequence[tuple[str, float, float]], room: Box, factor: float) -> Iterator[Item]:
    """Those lines drawn on to the right, beyond all else, and their names there."""
    level = room.right + _BEYOND / factor
    for what, start, y in lines:
        yield Stroke("AXES", ((start, y), (level, y)), of=what)
    yield from beside([(y, what) for what, _, y in lines], level, "right", factor, of="line").items


def _spreading(case: Case, layout: Layout) -> Iterator[Item]:
    for note, place in layout.places.items():
        ends = (_MM * place.key, _MM * rod_back(layout, note)), (_MM * place.pallet, _MM * layout.chest.back)
        yield Stroke("SPREADING", ends, of=f"key to pallet {note_name(note, case.naming)}")


def _board_backs(layout: Layout) -> tuple[float, float] | None:
    """How far back the roller board's foremost and hindmost axes stand, m; None where no paths say it."""
    backs = [turn.near[1] for path in layout.paths.values() for turn in path.turns if turn.kind == "roller"]
    return (min(backs), max(backs)) if backs and layout.board else None


def _board(layout: Layout) -> Iterator[Item]:
    """Where the roller board stands, where paths say it."""
    board, backs = layout.board, _board_backs(layout)
    if board is None or backs is None:
        return
    (left, right), half = board_edges(board), board.sizes.row / 2
    corners = [(left, backs[0] - half), (right, backs[0] - half), (right, backs[1] + half), (left, backs[1] + half)]
    points = tuple((_MM * x, _MM * y) for x, y in corners)
    yield Stroke("OUTLINE", points, closed=True, of="roller board", kind="hidden")


def _key_names(case: Case, pallets: _Pallets, room: Box, factor: float) -> Row:
    """Names before the keys; behind them where the chest stands before the keys."""
    layout = pallets.layout
    middles = fronts(layout.keyboard)
    if pallets.behind:
        named = [(_MM * middles[note], note_name(note, case.naming)) for note in layout.keyboard.notes]
        return beside(named, room.foot, "below", factor)
    behind = [(_MM * one.key, note_name(one.note, case.naming)) for one in layout.places.values()]
    return beside(behind, room.top, "above", factor)


def _key_leaders(pallets: _Pallets, room: Box) -> Iterator[Item]:
    """From each key to the row of its names, where something else stands between."""
    layout = pallets.layout
    middles = fronts(layout.keyboard)
    for note, place in layout.places.items():
        ends = (_MM * middles[note], _MM * front_place(layout.keyboard, note)[1], room.foot)
        if not pallets.behind:
            ends = (_MM * place.key, _MM * max(rod_back(layout, note), cover(layout.keyboard)), room.top)
        x, near, far = ends
        if abs(near - far) > 1e-9:
            yield Stroke("DIMENSIONS", ((x, near), (x, far)))


class _Pallets:
    """The pallets of a division on its chest, in mm across and back."""

    def __init__(self, case: Case, layout: Layout) -> None:
        self.case, self.layout = case, layout
        self.part = next(iter(of_kind(case, "pallet")), None)
        hinges = [path.turns[-1].near[1] for path in layout.paths.values()]
        self.way = -1.0 if hinges and hinges[0] < layout.chest.back - 1e-9 else 1.0

    def span(self, note: int) -> tuple[float, float, float, float]:
        """Of a pallet: hinge, near and far end of its opening, and its end, mm back."""
        eye = number(self.part, note, "eye")
        to_opening = number(self.part, note, "hinge_to_opening")
        opening = number(self.part, note, "opening_length")
        margin = number(self.part, note, "sealing_margin")
        back = self.layout.chest.back
        if any(math.isnan(one) for one in (eye, to_opening, opening)):
            eye, to_opening, opening = _LONG, 0.0, _LONG
        hinge = back + self.way * eye
        near, far = hinge - self.way * to_opening, hinge - self.way * (to_opening + opening)
        end = far - self.way * (0.0 if math.isnan(margin) else margin)
        return _MM * hinge, _MM * near, _MM * far, _MM * end

    def outlines(self) -> Iterator[Item]:
        """Pallets with their openings; grooves of other divisions as mere openings."""
        chest = self.layout.chest
        for (division, note), x in zip(chest.order, centres(chest), strict=True):
            half = _MM * chest.widths[division, note] / 2
            middle = _MM * x
            if division != self.layout.division or note not in self.layout.places:
                lengths = self.reach
                yield oblong("GROOVES", middle - half, lengths[0], middle + half, lengths[1], of="other groove")
                continue
            hinge, near, far, end = self.span(note)
            wide = number(self.part, note, "opening_width") / 2
            margin = number(self.part, note, "sealing_margin")
            beside_ = half if math.isnan(wide + margin) else _MM * (wide + margin)
            name = note_name(note, self.case.naming)
            low, high = sorted((hinge, end))
            yield oblong("PALLETS", middle - beside_, low, middle + beside_, high, of=f"pallet {name}")
            low, high = sorted((near, far))
            yield oblong("GROOVES", middle - half, low, middle + half, high, of=f"groove {name}")

    @cached_property
    def reach(self) -> tuple[float, float]:
        """Least and greatest back of the pallets, mm."""
        ends = [end for note in self.layout.places for end in (self.span(note)[0], self.span(note)[3])]
        return min(ends), max(ends)

    def names(self, room: Box, factor: float) -> Row:
        """Names beyond all that is drawn, at the side that is away from the keys."""
        named = [(_MM * place.pallet, note_name(note, self.case.naming)) for note, place in self.layout.places.items()]
        return beside(named, self.level(room), "above" if self.behind else "below", factor)

    @property
    def behind(self) -> bool:
        """Whether the chest stands behind the front of the keys."""
        return self.layout.chest.back >= self.layout.keyboard.back

    def level(self, room: Box) -> float:
        """Where the row of names begins, mm."""
        return room.top if self.behind else room.foot

    def leaders(self, room: Box) -> Iterator[Item]:
        """From the end of each pallet to the row of names."""
        level = self.level(room)
        for note, place in self.layout.places.items():
            ends = sorted((self.span(note)[0], self.span(note)[3]))
            end, x = ends[1] if self.behind else ends[0], _MM * place.pallet
            if abs(end - level) > 1e-9:
                yield Stroke("DIMENSIONS", ((x, end), (x, level)))


def _dimensions(layout: Layout, pallets: _Pallets, room: Box, rows: Sequence[Row]) -> Iterator[Item]:
    """Widths beyond the names, so that no help line goes through these; depths at the left."""
    left, right = (_MM * edge for edge in key_edges(layout.keyboard))
    levels = (room.foot - rows[0].reach, room.top + rows[1].reach)
    if not pallets.behind:
        levels = (room.top + rows[0].reach, room.foot - rows[1].reach)
    for level, ends, what in zip(
        levels, ((left, right), _chest_edges(layout.chest)), ("naturals", "grooves"), strict=True
    ):
        away = 5.0 if level > room.top else -5.0
        yield Dimension((ends[0], level), (ends[1], level), away, of=what)
    front = layout.keyboard.back
    depths = [("front to eyes", layout.chest.back)]
    first = next(iter(layout.paths.values()), None)
    if first and first.turns[0].out_end:
        depths.append(("front to the keys' rods", first.turns[0].out_end[1]))
    for i, (what, back) in enumerate(depths):
        low, high = sorted((_MM * front, _MM * back))
        yield Dimension((room.left, low), (room.left, high), 6.0 + 8.0 * i, "up", of=what)


def _chest_edges(chest: Chest) -> tuple[float, float]:
    half = chest_width(chest) / 2
    return _MM * (chest.middle - half), _MM * (chest.middle + half)


def _remarks(case: Case, layout: Layout) -> Iterator[str]:
    if layout.keyboard.back:
        yield (
            f"Depths are told here from the fronts of these keys, in side views from {zero(layout)}; "
            f"{fronts_told(layout)}."
        )
    furthest = max(layout.places.values(), key=lambda place: abs(place.sideways), default=None)
    if furthest is not None and furthest.side != "straight":
        yield (
            f"Order of the chest: {layout.order}. Furthest sideways: {note_name(furthest.note, case.naming)}, "
            f"{_MM * abs(furthest.sideways):.1f} mm to the {furthest.side}. Outlines of the keys are drawn by custom; "
            "lines of rods and pallets are computed."
        )
