"""What is cut for each note: the figures that drawings and cutting lists share."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from keyaction.cases.action.case import Case, PartSpec
from keyaction.models.instrument.layout import Layout
from keyaction.models.instrument.measure import between, rise, splay
from keyaction.models.instrument.path import Path, Turn
from keyaction.models.instrument.place import STRAIGHT
from keyaction.models.notes import note_name
from keyaction.plots.drawings.stock import Stock, number, stock, words

ROD_KINDS = ("tracker", "sticker", "pull-down")
END_PLAY = 1e-3
"""m by which a shaft is shorter than there is room between its bearings (common practice)."""
ALLOWANCE = 0.02
"""m that a rod is left longer at each of its ends, for hooks, wires and fitting (common practice)."""


class BadAllowance(ValueError):
    """An allowance or a play with which a piece cannot be cut."""


@dataclass(frozen=True)
class RollerCut:
    """A roller as it is made; lengths in m, across from the middle of the instrument.

    Parameters
    ----------
    note : int
    row : int
        From 1, the lowest (of a level board the nearest to the player).
    key, pallet : float
        Across, of the middles of its arms.
    between : float
        From middle to middle of its arms.
    bearings : (float, float)
        Across, of the middles of its bearings.
    room : float
        Between the faces of its bearings; below zero of one bearing alone.
    shaft : float
        Length of the shaft: the room less the end play; of a bent wire between its bends.
    arms : (float, float)
        Of the arm nearer the key, of that nearer the pallet; NaN where the case does not say.
    turned : float
        Angle between the two arms about the shaft, radians; NaN where no path is drawn.
    stock : Stock
    bent : bool
        Whether the arms are the ends of the shaft itself, a wire; `shaft` is then its straight piece between the bends.
    """

    note: int
    row: int
    key: float
    pallet: float
    between: float
    bearings: tuple[float, float]
    room: float
    shaft: float
    arms: tuple[float, float]
    turned: float
    stock: Stock
    bent: bool = False

    @property
    def cut(self) -> float:
        """Length to cut, m: of a bent wire both arms too; NaN where an arm is not known."""
        return self.shaft + sum(self.arms) if self.bent else self.shaft

    @property
    def key_end(self) -> str:
        """At which end of the shaft the key's arm stands, as the player sees it."""
        if self.between < STRAIGHT:
            return "middle"
        return "left" if self.key < self.pallet else "right"


@dataclass(frozen=True)
class RodCut:
    """A rod as it is cut; m and radians.

    Parameters
    ----------
    note : int
    part, kind : str
    between : float
        Between the points at its ends that carry load.
    splay, slope : float
        Its angle out of the side plane, and in that plane from level, upwards from the key on; NaN where no path is
        drawn.
    allowance : float
        Left longer at each end.
    drawn : bool
        Whether the length follows from the layout; else the case gives it.
    stock : Stock
    """

    note: int
    part: str
    kind: str
    between: float
    splay: float
    slope: float
    allowance: float
    drawn: bool
    stock: Stock

    @property
    def cut(self) -> float:
        """Length to cut, m."""
        return self.between + 2 * self.allowance


def of_kind(case: Case, *kinds: str) -> list[PartSpec]:
    """Parts of these kinds, from the finger on."""
    return [part for part in case.parts if part.kind in kinds]


def roller_part(case: Case) -> PartSpec | None:
    """The roller of the train; None where it has none."""
    return next(iter(of_kind(case, "roller")), None)


def roller_cuts(case: Case, layout: Layout, end_play: float = END_PLAY) -> list[RollerCut]:
    """The rollers of a board, by note; none of a layout without a board.

    Raises
    ------
    BadAllowance
        If a shaft would have no length.
    """
    part = roller_part(case)
    if layout.board is None or part is None:
        return []
    cuts = [_roller(case, layout, part, note, end_play) for note in sorted(layout.board.rollers)]
    short = [note_name(cut.note, case.naming) for cut in cuts if not cut.shaft > 0]
    if short:
        raise BadAllowance(f"end play {1000 * end_play:g} mm leaves no shaft of {', '.join(short)}; allowed are less")
    return cuts


def _roller(case: Case, layout: Layout, part: PartSpec, note: int, end_play: float) -> RollerCut:
    assert layout.board is not None
    place, sizes = layout.board.rollers[note], layout.board.sizes
    room = place.bearings[1] - place.bearings[0] - sizes.bearing
    bent = words(part, note, "arms") == "bent"
    turn = turn_of(layout.paths.get(note), part.name)
    angle = between(turn) if turn else None
    return RollerCut(
        note,
        place.row + 1,
        place.key,
        place.pallet,
        place.length,
        place.bearings,
        room,
        place.length if bent else room - end_play,
        (number(part, note, "in_arm"), number(part, note, "out_arm")),
        math.nan if angle is None else angle,
        stock(case, part, note),
        bent,
    )


def rod_cuts(case: Case, layout: Layout, allowance: float = ALLOWANCE) -> list[RodCut]:
    """The rods of every note from key to pallet: of the layout where paths are drawn, else as the case gives them.

    Raises
    ------
    BadAllowance
        If a rod would have no length.
    """
    cuts = [cut for note in sorted(layout.places) for cut in _rods(case, layout, note, allowance)]
    short = [f"{note_name(cut.note, case.naming)} {cut.part}" for cut in cuts if not cut.cut > 0]
    if short:
        told = ", ".join(short[:5]) + (f" and {len(short) - 5} others" if len(short) > 5 else "")
        raise BadAllowance(f"allowance {1000 * allowance:g} mm at each end leaves nothing of {told}")
    return cuts


def _rods(case: Case, layout: Layout, note: int, allowance: float) -> Iterator[RodCut]:
    path = layout.paths.get(note)
    legs = {leg.part: leg for leg in path.legs} if path else {}
    for part in of_kind(case, *ROD_KINDS):
        leg, made = legs.get(part.name), stock(case, part, note)
        if leg:
            yield RodCut(note, part.name, part.kind, leg.length, splay(leg), rise(leg), allowance, True, made)
        elif not math.isnan(given := number(part, note, "length")):
            yield RodCut(note, part.name, part.kind, given, math.nan, math.nan, allowance, False, made)


def turn_of(path: Path | None, part: str) -> Turn | None:
    """The place of a lever, key or pallet in a path; None where it has none."""
    return next((turn for turn in path.turns if turn.part == part), None) if path else None
