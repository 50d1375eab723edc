"""A layout as sheets: one row per note, and one per order of the chest."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from keyaction.models.instrument.path import Path
from keyaction.models.instrument.splay import force_factor, side_share
from keyaction.models.notes import Naming, note_name
from keyaction.models.units.quantity import System
from keyaction.sim.figures.evenness import JUST_NOTICEABLE
from keyaction.sim.layout.figures import Laid
from keyaction.sim.layout.orders import Compared
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value

_ACROSS = (
    "key, pallet: across, from the middle of the instrument, to the right positive; way: from the key's line to the "
    "pallet's; "
)
_NOTES = (
    f"{_ACROSS}row: of the roller, from the keys; twist: of the shaft at the pluck; lost: key travel that its rise "
    "from rest takes up; sag: most that the shaft gives, by its pulls at the pluck and its weight; mass: at the key, "
    "of the part that carries the motion sideways."
)
_FAN = (
    f"{_ACROSS}splay: of the slanting rod; times: its pull and its length, over those of a straight one; side: pull "
    "across, over the force along the motion; mass: at the key, of that rod."
)
_LEVERS = (
    f"{_ACROSS}splay: of the slanting lever, whose rods run straight; times: its arms, over those seen from the side; "
    "mass: at the key, of that lever."
)
_BOARDS = (
    "rows: of the roller board, 'least' that any board could have with these places; room: for them; aside: how far "
    "pallets' rods must be let stand beside their lines there, or rollers hold each other fast; longest roller, and "
    "all together. * of the case itself."
)
_FANS = "longest: way to the side, and all together; splay: the most. * of the case itself."
_TOUCH = {
    "twist": "the most at any note, at the pluck",
    "lost": "key travel that its rise from rest takes up",
    "mass": "of the whole train at the key, mean",
    "step": f"largest between neighbours, of their mean (! beyond {JUST_NOTICEABLE:.0%}: a finger can tell)",
}
"""What stands in the columns of the touch."""


def notes_sheet(laid: Sequence[Laid], naming: Naming, units: System) -> Sheet:
    """Where every note stands, and what its way to the side costs."""
    fan = any(math.isfinite(one.splay) for one in laid)
    columns = [
        Column("note", text=True),
        in_units("key", "m", units, 0),
        in_units("pallet", "m", units, 0),
        in_units("way", "m", units, 1),
        *(_of_fans(laid) if fan else _of_rollers(units)),
        in_units("mass", "kg", units, 1),
        in_units("pluck", "N", units, 0),
    ]
    rows = [[*_place(one, naming, units), *_cost(one, fan, units), *_felt(one, units)] for one in laid]
    lever = all(one.lever for one in laid)
    return Sheet("layout", "Places of the notes", columns, rows, (_LEVERS if lever else _FAN) if fan else _NOTES)


def _of_fans(laid: Sequence[Laid]) -> list[Column]:
    side = [] if all(one.lever for one in laid) else [Column("side", "", 3)]
    return [Column("splay", "deg", 1), Column("times", "", 3), *side]


def _of_rollers(units: System) -> list[Column]:
    return [
        Column("row", "", 0),
        Column("twist", "deg", 2),
        in_units("lost", "m", units, 2),
        in_units("sag", "m", units, 3),
    ]


def _place(one: Laid, naming: Naming, units: System) -> list[Cell]:
    place = one.place
    return [
        note_name(one.note, naming),
        *(value(size, "m", units) for size in (place.key, place.pallet, place.sideways)),
    ]


def _cost(one: Laid, fan: bool, units: System) -> list[Cell]:
    if fan:
        side = [] if one.lever else [side_share(one.splay)]
        return [math.degrees(one.splay), force_factor(one.splay), *side]
    row = math.nan if one.row is None else float(one.row + 1)
    return [row, math.degrees(one.twist), value(one.lost, "m", units), value(one.sag, "m", units)]


def _felt(one: Laid, units: System) -> list[Cell]:
    return [value(one.carried, "kg", units), value(one.pluck, "N", units)]


def boards_sheet(found: Sequence[Compared], units: System, own: str) -> Sheet:
    """Orders of the chest side by side, what their boards take; the case's own is marked."""
    columns = [
        Column("order", text=True),
        Column("rows", "", 0),
        Column("least", "", 0),
        in_units("room", "m", units, 0),
        in_units("aside", "m", units, 0),
        in_units("longest", "m", units, 0),
        Column("all", "m", 1),
        Column("splay", "deg", 1),
    ]
    rows = [[_named(one, own), *_board(one, units)] for one in found]
    fan = all(one.rows is None for one in found)
    what, note = ("the fan", _FANS) if fan else ("the board", _BOARDS)
    return _without_empty("boards", f"Orders of the chest: {what}", columns, rows, note)


def touch_sheet(found: Sequence[Compared], units: System, own: str) -> Sheet:
    """Orders of the chest side by side, what is felt of them; single orders have their lines."""
    columns = [
        Column("order", text=True),
        Column("twist", "deg", 2),
        in_units("lost", "m", units, 2),
        in_units("mass", "kg", units, 1),
        in_units("pluck\nfrom", "N", units, 0),
        in_units("to", "N", units, 0),
        Column("step", "%", 1, limit=100 * JUST_NOTICEABLE),
    ]
    rows = [[_named(one, own), *_touch(one, units)] for one in found]
    sheet = _without_empty("touch", "Orders of the chest: the touch", columns, rows, "")
    there = [column.heading for column in sheet.columns]
    note = "; ".join(f"{name}: {words}" for name, words in _TOUCH.items() if name in there)
    return replace(sheet, note=f"{note}." if note else "", lines=_lines(found))


def _named(one: Compared, own: str) -> str:
    return f"{one.order}{' *' if one.order == own else ''}"


def _without_empty(name: str, title: str, columns: list[Column], rows: list[list[Cell]], note: str) -> Sheet:
    """A sheet without the columns in which nothing stands."""
    dead = {i for i, _ in enumerate(columns) if i and all(_empty(row[i]) for row in rows)}
    kept = [i for i, _ in enumerate(columns) if i not in dead]
    return Sheet(name, title, [columns[i] for i in kept], [[row[i] for i in kept] for row in rows], note)


def _empty(cell: Cell) -> bool:
    return not isinstance(cell, str) and not math.isfinite(cell)


def _board(one: Compared, units: System) -> list[Cell]:
    rows, least = (math.nan if count is None else float(count) for count in (one.rows, one.least))
    sizes = [value(size, "m", units) for size in (one.height, one.aside, one.longest)]
    return [rows, least, *sizes, one.total, math.degrees(one.splay)]


def _touch(one: Compared, units: System) -> list[Cell]:
    plucks = [value(force, "N", units) for force in (one.lightest, one.heaviest)]
    lost, mass = value(one.lost, "m", units), value(one.mass, "kg", units)
    return [math.degrees(one.twist), lost, mass, *plucks, 100 * one.step]


def _lines(found: Sequence[Compared]) -> list[str]:
    """What is to be said of single orders."""
    told = [f"{one.order}: cannot be built: {one.problem}" for one in found if one.problem]
    told += [f"{one.order}: {one.unsound} notes do not speak and fall silent" for one in found if one.unsound]
    return told


def path_sheet(path: Path, naming: Naming, units: System) -> Sheet:
    """The rods of one note: lengths and angles."""
    from keyaction.models.instrument.measure import rise, splay

    columns = [
        Column("rod", text=True),
        Column("kind", text=True),
        in_units("length", "m", units, 1),
        Column("slope", "deg", 1),
        Column("splay", "deg", 1),
    ]
    rows: list[list[Cell]] = [
        [leg.part, leg.kind, value(leg.length, "m", units), math.degrees(rise(leg)), math.degrees(splay(leg))]
        for leg in path.legs
    ]
    note = "length: between its ends; slope: from level, in the side view; splay: out of it."
    return Sheet("path", f"Rods of {note_name(path.note, naming)}", columns, rows, note)
