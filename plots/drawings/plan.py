"""The plan: keys and pallets from above, and how each note spreads from one to the other."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cached_property

from keyaction.cases.action.case import Case
from keyaction.models.instrument.chest import Chest, centres
from keyaction.models.instrument.chest import width as chest_width
from keyaction.models.instrument.keyboard import edges as key_edges
from keyaction.models.instrument.keyboard import fronts
from keyaction.models.instrument.layout import Layout
from keyaction.models.notes import note_name
from keyaction.plots.drawings.board import edges as board_edges
from keyaction.plots.drawings.cuts import of_kind
from keyaction.plots.drawings.drawing import Dimension, Drawing, Item, Stroke, Text
from keyaction.plots.drawings.keys import cover, fronts_told, key_outlines, zero
from keyaction.plots.drawings.names import Row, beside
from keyaction.plots.drawings.paper import Scale
from keyaction.plots.drawings.placing import oblong
from keyaction.plots.drawings.stock import number

_MM = 1000.0
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
    items: list[Item] = [*key_outlines(layout.keyboard, case.naming), *_levers(layout), *_axes(layout, factor)]
    items += [*pallets.outlines(), *pallets.leaders(), *_spreading(case, layout), *_board(layout, factor)]
    rows = [_key_names(case, layout, factor), pallets.names(factor)]
    items += [item for row in rows for item in row.items]
    items += _dimensions(layout, pallets, [row.reach * factor for row in rows])
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


def _axes(layout: Layout, factor: float) -> Iterator[Item]:
    """The line of the keys' pivots and that of their rods."""
    left, right = key_edges(layout.keyboard)
    for path in list(layout.paths.values())[:1]:
        key = path.turns[0]
        for what, point in (("pivots of the keys", key.near), ("rods of the keys", key.out_end)):
            if point:
                y = _MM * point[1]
                yield Stroke("AXES", ((_MM * left, y), (_MM * right, y)), of=what)
                yield Text((_MM * right + 1.5 / factor, y), what, along="middle")


def _spreading(case: Case, layout: Layout) -> Iterator[Item]:
    for note, place in layout.places.items():
        ends = (_MM * place.key, _MM * rod_back(layout, note)), (_MM * place.pallet, _MM * layout.chest.back)
        yield Stroke("SPREADING", ends, of=f"key to pallet {note_name(note, case.naming)}")


def _board(layout: Layout, factor: float) -> Iterator[Item]:
    """Where the roller board stands, where paths say it."""
    board = layout.board
    backs = [
        turn.near[1]
        for path in layout.paths.values()
        for turn in path.turns
        if board is not None and turn.kind == "roller"
    ]
    if board is None or not backs:
        return
    left, right = (_MM * edge for edge in board_edges(board))
    half = _MM * board.sizes.row / 2
    yield Stroke(
        "OUTLINE",
        (
            (left, _MM * min(backs) - half),
            (right, _MM * min(backs) - half),
            (right, _MM * max(backs) + half),
            (left, _MM * max(backs) + half),
        ),
        closed=True,
        of="roller board",
        kind="hidden",
    )
    yield Text((right + 1.5 / factor, _MM * sum(backs) / len(backs)), "roller board", along="middle")


def _key_names(case: Case, layout: Layout, factor: float) -> Row:
    """Names before the keys; behind them where the chest stands before the keys."""
    middles = fronts(layout.keyboard)
    named = [(_MM * middles[note], note_name(note, case.naming)) for note in layout.keyboard.notes]
    if layout.chest.back >= layout.keyboard.back:
        return beside(named, _MM * layout.keyboard.back, "below", factor)
    ends = [rod_back(layout, note) for note in layout.places] + [cover(layout.keyboard)]
    return beside(
        [(_MM * one.key, note_name(one.note, case.naming)) for one in layout.places.values()],
        _MM * max(ends),
        "above",
        factor,
    )


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

    def names(self, factor: float) -> Row:
        """Names beyond the pallets, at the side that is away from the keys."""
        named = [(_MM * place.pallet, note_name(note, self.case.naming)) for note, place in self.layout.places.items()]
        return beside(named, self.level, "above" if self.behind else "below", factor)

    @property
    def behind(self) -> bool:
        """Whether the chest stands behind the front of the keys."""
        return self.layout.chest.back >= self.layout.keyboard.back

    @property
    def level(self) -> float:
        """Where the row of names begins, mm."""
        return self.reach[1] if self.behind else self.reach[0]

    def leaders(self) -> Iterator[Item]:
        """From the end of each pallet to the row of names."""
        for note, place in self.layout.places.items():
            ends = sorted((self.span(note)[0], self.span(note)[3]))
            end, x = ends[1] if self.behind else ends[0], _MM * place.pallet
            if abs(end - self.level) > 1e-9:
                yield Stroke("DIMENSIONS", ((x, end), (x, self.level)))


def _dimensions(layout: Layout, pallets: _Pallets, reaches: list[float]) -> Iterator[Item]:
    board, chest = layout.keyboard, layout.chest
    left, right = (_MM * edge for edge in key_edges(board))
    front = _MM * board.back
    yield Dimension((left, front), (right, front), -(reaches[0] + 7.0 if pallets.behind else 7.0), of="naturals")
    edge_left, edge_right = _chest_edges(chest)
    y, away = pallets.level, (reaches[1] + 4.0) * (1.0 if pallets.behind else -1.0)
    yield Dimension((edge_left, y), (edge_right, y), away, of="grooves")
    far_left = min(left, edge_left)
    yield Dimension((far_left, front), (far_left, _MM * chest.back), 8.0, "up", of="front to eyes")
    first = next(iter(layout.paths.values()), None)
    if first and first.turns[0].out_end:
        back = _MM * first.turns[0].out_end[1]
        far_right = max(right, edge_right)
        yield Dimension((right, front), (far_right, back), -14.0, "up", of="front to the keys' rods")


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
