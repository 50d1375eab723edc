"""The side view: one note's whole path from key to pallet, with its axes, arms, rods and angles."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Literal

from keyaction.cases.action.case import Case
from keyaction.models.instrument.layout import Layout
from keyaction.models.instrument.measure import arms, between
from keyaction.models.instrument.path import Path, Turn
from keyaction.models.notes import file_name, note_name
from keyaction.plots.drawings.boxes import Box, extent
from keyaction.plots.drawings.crowd import Crowd
from keyaction.plots.drawings.cuts import RodCut, RollerCut
from keyaction.plots.drawings.dimensions import pieces, readable
from keyaction.plots.drawings.drawing import Arc, Circle, Dimension, Drawing, Item, Stroke, Text, Xy
from keyaction.plots.drawings.keys import fronts_told, zero
from keyaction.plots.drawings.lettering import SMALL
from keyaction.plots.drawings.names import beside
from keyaction.plots.drawings.paper import Scale
from keyaction.plots.drawings.side_bodies import bodies, flat
from keyaction.plots.drawings.side_table import lever_table, rod_table, told
from keyaction.plots.drawings.table import Table, table_items

_MM = 1000.0
_PIN, _CROSS, _ARC = 1.0, 2.5, 6.0
"""mm on paper: radius of an axis, half its cross, radius of an angle's arc."""
_LEAST = 1e-3
"""rad below which two arms are one to the eye."""
_AWAY = (5.0, 8.0, 11.0, 15.0)
"""mm on paper at which dimensions and names are tried beside what they name."""
_ROUND = 30.0
"""mm on paper about the bare view in which lettering is looked for."""
_SEEN = 0.05
"""mm by which an arm must be longer than it is seen for that to be told."""
_SHORTEST = 4.0
"""mm on paper below which an arm is no longer read."""


def side_views(
    case: Case,
    layout: Layout,
    note: int,
    scale: Scale,
    rods: Sequence[RodCut],
    rollers: Sequence[RollerCut] = (),
) -> list[Drawing]:
    """The path of a note from the side, the player at the left: its tables beside it, and below it.

    Parameters
    ----------
    case : Case
    layout : Layout
    note : int
        One of `Layout.paths`.
    scale : Scale
    rods : sequence of RodCut
        Those of the note.
    rollers : sequence of RollerCut
        Those of the board.

    Returns
    -------
    list of Drawing
        The same view twice.

    Raises
    ------
    KeyError
        If no path of the note is drawn.
    """
    path, factor = layout.paths[note], scale.factor
    name = note_name(note, case.naming)
    crowd = Crowd(factor, [*bodies(case, path, note), *_lines(path, name)])
    for turn in path.turns:
        crowd.add(*_axis(turn, factor))
    room = extent(pieces(crowd.items, factor), factor).grown(_ROUND / factor)
    crowd.avoid(*_to_rows(path, room.left, room.foot))
    for leg in path.legs:
        crowd.choose(_rod_dimensions(flat(leg.start), flat(leg.end), f"seen {leg.part} {name}"))
    for turn in path.turns:
        _letter_arms(crowd, turn, name)
    for turn in path.turns:
        crowd.choose(_names(turn.part, flat(turn.near), factor))
    for leg in path.legs:
        crowd.choose(_names(leg.part, _middle(flat(leg.start), flat(leg.end)), factor))
    crowd.add(*_places(path, extent(pieces(crowd.items, factor), factor), factor))
    listed = [lever_table(path, rollers, note), rod_table(rods)]
    box = extent(pieces(crowd.items, factor), factor)
    what = f"Side view of {name} from key to pallet, the player at the left"
    remarks = tuple(_remarks(layout, path, note, name))
    seen = [math.dist(axis, end) for turn in path.turns for _, axis, end in _arms(turn)]
    small = min(seen, default=_SHORTEST) * factor < _SHORTEST
    found, places = [], ("right", "below")
    for where in places:
        items = (*crowd.items, *_tables(listed, box, factor, where))
        found.append(Drawing(f"side-{file_name(note)}", what, scale, items, remarks, crowd.crowded or small))
    return found


def _middle(a: Xy, b: Xy) -> Xy:
    return (a[0] + b[0]) / 2, (a[1] + b[1]) / 2


def _lines(path: Path, name: str) -> Iterator[Item]:
    """Rods from end to end, and arms from axis to end."""
    for leg in path.legs:
        yield Stroke("RODS", (flat(leg.start), flat(leg.end)), of=f"{leg.part} {name}")
    for turn in path.turns:
        for which, axis, end in _arms(turn):
            yield Stroke("LEVERS", (axis, end), of=f"{turn.part} {which} {name}")


def _arms(turn: Turn) -> Iterator[tuple[str, Xy, Xy]]:
    """Name, axis and end of each arm that is seen as a length."""
    for which, axis, end in (("in arm", turn.near, turn.in_end), ("out arm", turn.far, turn.out_end)):
        if end is not None and math.dist(flat(axis), flat(end)) > 0.05:
            yield which, flat(axis), flat(end)


def _axis(turn: Turn, factor: float) -> Iterator[Item]:
    x, y = flat(turn.near)
    reach = _CROSS / factor
    yield Circle("BEARINGS", (x, y), _PIN / factor, of=f"axis {turn.part}")
    yield Stroke("AXES", ((x - reach, y), (x + reach, y)))
    yield Stroke("AXES", ((x, y - reach), (x, y + reach)))


def _rod_dimensions(start: Xy, end: Xy, of: str) -> list[list[Item]]:
    return [[Dimension(start, end, sign * away, of=of)] for away in _AWAY for sign in (1.0, -1.0)]


def _letter_arms(crowd: Crowd, turn: Turn, name: str) -> None:
    """Lengths along the arms, and the angle between them."""
    true = dict(zip(("in arm", "out arm"), arms(turn), strict=True))
    for which, axis, end in _arms(turn):
        seen = math.dist(axis, end)
        words = told(seen) if abs(_MM * true[which] - seen) < _SEEN else f"{told(seen)}, true {told(_MM * true[which])}"
        crowd.choose(_arm_figures(axis, end, crowd.factor, words, f"{turn.part} {which} {name}"))
    angle = between(turn)
    if angle is not None and angle > _LEAST and not turn.kind.startswith("key"):
        crowd.choose(_angle_figures(turn, angle, crowd.factor))


def _arm_figures(axis: Xy, end: Xy, factor: float, words: str, of: str) -> list[list[Item]]:
    """The arm's length beside it; further away with a leader."""
    dx, dy = end[0] - axis[0], end[1] - axis[1]
    size = math.hypot(dx, dy)
    angle = readable(math.atan2(dy, dx))
    normal, middle = (-math.sin(angle), math.cos(angle)), _middle(axis, end)
    found: list[list[Item]] = []
    for off, along in ((1.2, "foot"), (-1.2, "top")):
        at = (middle[0] + normal[0] * off / factor, middle[1] + normal[1] * off / factor)
        foot: Literal["foot", "top"] = "foot" if along == "foot" else "top"
        found.append([Text(at, words, SMALL, angle, "middle", foot, "DIMENSIONS", of)])
    beyond = (end[0] + dx / size * 1.5 / factor, end[1] + dy / size * 1.5 / factor)
    side: Literal["left", "right"] = "left" if math.cos(angle) * dx + math.sin(angle) * dy > 0 else "right"
    found.append([Text(beyond, words, SMALL, angle, side, "middle", "DIMENSIONS", of)])
    return found + _led(words, middle, factor, "DIMENSIONS", of)


def _angle_figures(turn: Turn, angle: float, factor: float) -> list[list[Item]]:
    """An arc between the arms, and its angle beside it."""
    (x, y) = flat(turn.near)
    ends = [math.atan2(end[1] - axis[1], end[0] - axis[0]) for _, axis, end in _arms(turn)]
    start, stop = (
        ends if math.isclose(math.remainder(ends[1] - ends[0] - angle, 2 * math.pi), 0.0, abs_tol=1e-6) else ends[::-1]
    )
    radius, middle = _ARC / factor, start + angle / 2
    arc = Arc("DIMENSIONS", (x, y), radius, start, stop, of=f"angle {turn.part}")
    words = f"{math.degrees(angle):.1f}°"
    found: list[list[Item]] = []
    for off in (1.0, 3.0, 6.0, 10.0):
        reach = radius + off / factor
        at = (x + reach * math.cos(middle), y + reach * math.sin(middle))
        side: Literal["left", "middle", "right"] = (
            "middle" if abs(math.cos(middle)) < 0.35 else "left" if math.cos(middle) > 0 else "right"
        )
        found.append([arc, Text(at, words, SMALL, 0.0, side, "middle", "DIMENSIONS")])
    return found


def _names(words: str, at: Xy, factor: float) -> list[list[Item]]:
    return _led(words, at, factor, "TEXT", "part")


def _led(words: str, at: Xy, factor: float, layer: str, of: str) -> list[list[Item]]:
    """Words at the end of a leader, in every direction and ever further away."""
    found: list[list[Item]] = []
    for away in (6.0, *(8.0 + 5.0 * i for i in range(7))):
        for degrees in (45, 135, -45, -135, 20, 160, -20, -160, 70, 110, -70, -110):
            u = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
            begin = (at[0] + u[0] * 1.5 / factor, at[1] + u[1] * 1.5 / factor)
            end = (at[0] + u[0] * away / factor, at[1] + u[1] * away / factor)
            side: Literal["left", "right"] = "left" if u[0] > 0 else "right"
            foot = (end[0] + (0.8 if u[0] > 0 else -0.8) / factor, end[1])
            line = Stroke("DIMENSIONS", (begin, end))
            found.append([line, Text(foot, words, SMALL, 0.0, side, "middle", layer, of)])
    return found


def _places(path: Path, box: Box, factor: float) -> Iterator[Item]:
    """How far back and up every axis stands, in rows below and at the left."""
    backs = {round(flat(turn.near)[0], 3) for turn in path.turns}
    ups = {round(flat(turn.near)[1], 3) for turn in path.turns}
    for named, level, side in (
        (backs, box.foot - 4.0 / factor, "below"),
        (ups, box.left - 4.0 / factor, "left"),
    ):
        where: Literal["below", "left"] = "below" if side == "below" else "left"
        row = beside([(at, f"{at:.1f}".rstrip("0").rstrip(".")) for at in named], level, where, factor, of="place")
        yield from row.items
    yield from _to_rows(path, box.left - 4.0 / factor, box.foot - 4.0 / factor)


def _to_rows(path: Path, left: float, low: float) -> Iterator[Item]:
    """From every axis to where its places are told."""
    for turn in path.turns:
        x, y = flat(turn.near)
        yield Stroke("AXES", ((x, y), (x, low)))
        yield Stroke("AXES", ((x, y), (left, y)))


def _tables(listed: Sequence[Table], box: Box, factor: float, where: str) -> Iterator[Item]:
    """Tables at the right of the view or below it, one under the other or side by side."""
    x, y = (box.right + 10 / factor, box.top) if where == "right" else (box.left, box.foot - 8 / factor)
    for table in listed:
        items, wide, high = table_items(table, (x, y), factor)
        yield from items
        if where == "right":
            y -= high + 6 / factor
        else:
            x += wide + 8 / factor


def _remarks(layout: Layout, path: Path, note: int, name: str) -> Iterator[str]:
    place = layout.places[note]
    yield (
        f"At rest. Back and up are counted from {zero(layout)}; {fronts_told(layout)}. Rows at the foot and at the "
        "left give back and up of every axis."
    )
    if place.side != "straight":
        yield (
            f"{name} is carried {_MM * abs(place.sideways):.1f} mm to the {place.side}: across from the middle of the "
            f"instrument its key's line stands {_MM * place.key:z.1f} mm, its pallet's {_MM * place.pallet:z.1f} mm."
        )
    if any(math.dist(leg.start, leg.end) - math.dist(flat(leg.start), flat(leg.end)) / _MM > 1e-5 for leg in path.legs):
        yield "Rods that go slantwise are longer than they are seen here: cut by the table."
    slant = [turn.part for turn in path.turns if turn.kind != "roller" and _longer(turn)]
    if slant:
        yield (
            f"Levers that stand slantwise are longer than they are seen here ({', '.join(slant)}): make them by the "
            "table or levers.csv."
        )


def _longer(turn: Turn) -> bool:
    """Whether an arm is longer than it is seen."""
    seen = {which: math.dist(axis, end) for which, axis, end in _arms(turn)}
    true = dict(zip(("in arm", "out arm"), arms(turn), strict=True))
    return any(abs(_MM * true[which] - size) >= _SEEN for which, size in seen.items())
