"""Whether the driven pallets open fully with all couplers drawn, and what takes their lift: a ratio, or a play."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.train import Train
from keyaction.sim.coupling.moved import pallets_behind, with_play
from keyaction.sim.coupling.regulate import DrivenNote
from keyaction.sim.figures.play import NotPlayed, press_note, reason_of
from keyaction.sim.figures.record import Pressed
from keyaction.sim.figures.sounding import pallet_groove_share, pallet_lift
from keyaction.sim.motion.note import NoteModel

NOTHING = 0.01
"""Share of its lift with its own key below which a loss is none."""
RATIO = "ratio"


@dataclass(frozen=True)
class Look:
    """A played note, its train as stated and as set, and the notes that it drives; couplers by their names there."""

    division: str
    note: int
    stated: Train
    chosen: Train
    couplers: Mapping[str, str]
    strokes: Strokes
    driven: tuple[DrivenNote, ...]


@dataclass(frozen=True)
class Opening:
    """A driven pallet with all couplers drawn, the played key at the bottom; lifts in m.

    Attributes
    ----------
    division, note
        What is played.
    pallet : str
    own, free, stated, chosen : float
        Lift with its own key; with no play in any coupler; with the stated plays; with those that were set.
    share : float
        Of the wind in its groove, as set.
    taken_by : str
        What takes most of the lift that it lacks as set: "ratio", or the name of the coupler whose play does; empty
        where it lacks none.
    taken : float
        How much that is, m.
    reason : str
        Why it could not be looked at.
    """

    division: str
    note: int
    pallet: str
    own: float = math.nan
    free: float = math.nan
    stated: float = math.nan
    chosen: float = math.nan
    share: float = math.nan
    taken_by: str = ""
    taken: float = math.nan
    reason: str = ""


def opening(look: Look) -> tuple[Opening, ...]:
    """Look at every pallet that a key drives."""
    try:
        return tuple(_openings(look))
    except NotPlayed as problem:
        names = [name for one in look.driven for name in one.names.values()]
        return tuple(Opening(look.division, look.note, name, reason=reason_of(problem)) for name in names)


def _openings(look: Look) -> list[Opening]:
    free = look.chosen
    for part in look.couplers:
        free = with_play(free, part, 0.0)
    tried = {name: _pressed(train, look.strokes) for name, train in (("free", free), ("stated", look.stated))}
    chosen = _pressed(look.chosen, look.strokes)
    without = {part: _lifts(_pressed(with_play(look.chosen, part, 0.0), look.strokes)) for part in look.couplers}
    lifts = {name: _lifts(pressed) for name, pressed in tried.items()}
    now, shares = _lifts(chosen), {one.pallet: pallet_groove_share(chosen, one) for one in chosen.press.sounders}
    found = []
    for one in look.driven:
        own = _lifts(_pressed(one.train, one.strokes))
        for plain, pallet in one.names.items():
            ways = [part for part in look.couplers if pallet in pallets_behind(look.chosen.structure, part)]
            losses = {look.couplers[part]: without[part][pallet] - now[pallet] for part in ways}
            losses[RATIO] = own[plain] - lifts["free"][pallet]
            worst = max(losses, key=lambda name: losses[name])
            lacks = losses[worst] > NOTHING * own[plain]
            found.append(
                Opening(
                    look.division,
                    look.note,
                    pallet,
                    own[plain],
                    lifts["free"][pallet],
                    lifts["stated"][pallet],
                    now[pallet],
                    shares[pallet],
                    worst if lacks else "",
                    losses[worst] if lacks else 0.0,
                )
            )
    return found


def _pressed(train: Train, strokes: Strokes) -> Pressed:
    with np.errstate(all="ignore"):
        return press_note(NoteModel(train), strokes)


def _lifts(pressed: Pressed) -> dict[str, float]:
    return {one.pallet: pallet_lift(pressed, one) for one in pressed.press.sounders}
