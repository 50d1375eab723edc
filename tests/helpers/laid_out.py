"""Layouts made by hand from the geometry alone, without a case's [layout]: for tests of the drawings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.models.instrument.board import BoardSizes
from keyaction.models.instrument.chest import Chest
from keyaction.models.instrument.keyboard import Keyboard
from keyaction.models.instrument.layout import Layout
from keyaction.models.instrument.orders import order_notes
from keyaction.models.instrument.place import Place, places
from keyaction.models.instrument.rollers import lay_board
from keyaction.models.instrument.run import Rod, Station
from keyaction.models.instrument.trace import trace
from keyaction.models.notes import note_name

RODS = ("riser", "level-tracker", "drop", "pull-down")


@dataclass(frozen=True)
class Made:
    """What a layout is made to; m."""

    order: str = "two-sides"
    notes: tuple[int, ...] = ()
    bar: float = 0.009
    pallets: str = "above"
    keys: str = "below"
    stands: str = "upright"
    height: float | None = 0.6
    apart: float = 0.006
    back: float = 0.9
    division: str = ""
    splayed: str = ""
    paths: bool = True
    pedals: bool = False


@cache
def demo() -> Case:
    """A shipped case with a roller board and two squares."""
    return read_case("demo-wood")


@cache
def laid_out(made: Made = Made()) -> Case:
    """A shipped case with a layout."""
    return replace(demo(), layout=layout(demo(), made))


def layout(case: Case, made: Made) -> Layout:
    """The layout of a case whose run goes by two squares, and a roller board or a fan."""
    notes = made.notes or case.compass
    keyboard = Keyboard("manual", notes, 0.165, pedals=made.pedals)
    chest = _chest(case, made, notes)
    found = places(keyboard, chest, made.division)
    board = None
    if not made.splayed:
        sizes = BoardSizes(
            0.025,
            0.006,
            0.015,
            0.010,
            made.apart,
            0.016,
            made.height,
            made.keys,
            made.pallets,
            made.stands,  # type: ignore[arg-type]
        )
        board = lay_board(found, sizes, note_name)
    paths = {}
    for note, place in found.items():
        if made.paths:
            # A roller of a straight note has its arms out of its lines; its path is drawn from the board's own lines.
            lines = board.rollers[note] if board else place
            offset = board.offset(note) if board else 0.0
            paths[note] = trace(
                note, Place(note, lines.key, lines.pallet), _run(made), _rods(made), (0.0, offset), made.splayed
            )
    return Layout(made.division, keyboard, chest, made.order, found, board, made.splayed, paths, {}, ())


def _chest(case: Case, made: Made, notes: Sequence[int]) -> Chest:
    groove = case.part("groove")
    order = tuple((made.division, note) for note in order_notes(notes, made.order))
    widths = {one: float(case.values(one[1], groove)["width"].value) for one in order}
    return Chest(order, widths, made.bar, {}, 0.0, made.back, 1.5)


def _run(made: Made) -> tuple[Station, ...]:
    key = Station("key", "key", (0.23, -0.03), 0.23, 0.15)
    squares = (
        Station("lower-square", "square", (0.43, -0.64), 0.05, 0.05),
        Station("upper-square", "square", (0.85, -0.69), 0.05, 0.05),
    )
    pallet = Station("pallet", "pallet", (made.back, 1.5), 0.17, None)
    if made.splayed:
        return (key, *squares, pallet)
    return (key, *squares, Station("roller", "roller", (0.84, 0.4), 0.06, 0.06), pallet)


def _rods(made: Made) -> tuple[Rod, ...]:
    names = RODS[:3] if made.splayed else RODS
    return tuple(Rod(name, "pull-down" if name == "pull-down" else "tracker", pushes=False) for name in names)
