"""What is not regulated away: notes whose figures want a cause to be found first, or want to be measured once more."""

from __future__ import annotations

import numpy as np

from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.readings.readings import Readings
from keyaction.sim.measuring.knobs import KINDS
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.regulating.cause import Cause, joined
from keyaction.sim.regulating.fewest import Flags
from keyaction.sim.regulating.fit import CONTRADICTS
from keyaction.sim.regulating.notes import FITTED
from keyaction.sim.regulating.spoken import TIGHT, spoken
from keyaction.sim.regulating.state import State

SURE = 3.0
"""Standard deviations from nothing at which a cause is named."""
SHARE = 0.5
"""Of what is usual as a fault, from which it is worth a look."""
_BENT = ("up", "up_off")
MOST = {"nut": 5e-3, "rest": 3e-3, "bottom": 3e-3}
"""m beyond which no nut is turned and no felt or washer is laid in: a reading is wrong, or a part is (assumed)."""


_SEEN = (
    ("seal", "pallets seat", -1.0, "the wind presses less on the shut pallet than drawn: it leaks or seals narrower"),
    ("seal", "pallets seat", 1.0, "the wind presses harder on the shut pallet than drawn: it seals wider or sticks"),
    ("friction", "pull-downs", 1.0, "more friction than drawn: a pin, a guide or a pull-down rubs"),
    ("soft-run", "rollers", -1.0, "the run gives way more than drawn: a roller twists, an arm or a rod end is soft"),
)


def seal_of_all(state: State) -> float:
    """The share that the wind on most shut pallets is off together; 0 where they share none."""
    shift = state.together.get("seal", 0.0)
    return shift if abs(shift) > SHARE * KINDS["seal"].usual else 0.0


def causes(state: State, readings: Readings, shift: float) -> list[Cause]:
    """What is to be found out before, or beside, any turning.

    Parameters
    ----------
    state : State
    readings : Readings
    shift : float
        Share of the wind on shut pallets that all notes are off together.
    """
    found = [*_disagreeing(state, readings), *_contradicting(state)]
    for kind, stage, sense, said in _SEEN:
        off = state.amount(kind) - (shift if kind == "seal" else 0.0)
        sure = sense * off > np.maximum(SURE * state.sd[:, FITTED.index(kind)], SHARE * KINDS[kind].usual)
        found += [
            Cause(state.bench.notes[i], stage, kind, float(off[i]), said, "diagnose", False)
            for i in np.flatnonzero(state.known & state.tells(kind) & sure)
        ]
    return found + spoken(state, readings)


def _disagreeing(state: State, readings: Readings) -> list[Cause]:
    by: dict[int, list[str]] = {}
    for one in readings.disagreements:
        by.setdefault(one.note, []).append(BY_NAME[one.figure].said)
    return [
        Cause(note, "recheck", "contradiction", np.nan, f"readings of {joined(names)} disagree", "measure", True)
        for note, names in by.items()
        if note in state.bench.notes
    ]


def _contradicting(state: State) -> list[Cause]:
    play, found = state.figures[:, NAMES.index("play")], []
    for i in np.flatnonzero(state.known):
        far = [
            name
            for k, name in enumerate(NAMES)
            if abs(state.left[i, k]) > CONTRADICTS and not (name in _BENT and not play[i] > TIGHT)
        ]
        if far:
            places = {name: NAMES.index(name) for name in far}
            apart = tuple((name, float(state.read[i, k]), float(state.figures[i, k])) for name, k in places.items())
            said = f"{joined([BY_NAME[name].said for name in far])} against what else was read here"
            found.append(Cause(state.bench.notes[i], "recheck", "contradiction", np.nan, said, "measure", True, apart))
    return found


def beyond(state: State, total: Floats) -> list[Cause]:
    """Notes at which more would be turned or laid in than there can be, by all work (n, kinds).

    The nut of a mute note may be off its thread's way: it is let go as far as a nut can be found.
    """
    found = []
    for i, note in enumerate(state.bench.notes):
        for kind, most in MOST.items():
            limit = KINDS[kind].high if kind == "nut" and state.speech[i] == "mute" else most
            amount = float(total[i, FITTED.index(kind)])
            if abs(amount) > limit:
                what = {"nut": "the nut", "rest": "the rest", "bottom": "the bottom felt"}[kind]
                said = f"{what} would be moved by more than {1e3 * limit:.0f}\u00a0mm: that cannot be"
                found.append(Cause(note, "recheck", "amount", amount, said, "measure", True))
                break
    return found


def workable(state: State, found: list[Cause]) -> Flags:
    """Notes at which something may be turned."""
    waiting = {one.note for one in found}
    return np.array([ok and note not in waiting for ok, note in zip(state.known, state.bench.notes, strict=True)])


def counted(state: State, found: list[Cause]) -> Flags:
    """Notes that say something of what all share, though a cause may have to be found at them first."""
    doubted = {one.note for one in found if one.doubts}
    return np.array([ok and note not in doubted for ok, note in zip(state.known, state.bench.notes, strict=True)])
