"""What is not regulated away: notes whose figures want a cause to be found first, or want to be measured once more."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.readings.readings import Readings
from keyaction.sim.measuring.knobs import KINDS
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.regulating.fewest import Flags
from keyaction.sim.regulating.notes import FITTED
from keyaction.sim.regulating.state import State

Sent = Literal["diagnose", "measure", "unhook"]

SURE = 3.0
"""Standard deviations from nothing at which a cause is named."""
SHARE = 0.5
"""Of what is usual as a fault, from which it is worth a look."""
CONTRADICTS = 3.0
"""Standard deviations by which a reading may stand off the others before it is asked for again."""
TIGHT = 0.1e-3
"""m of play below which the up-weight says little: the pallet hardly seats, and the readings of it bend."""
_BENT = ("up", "up_off")
MOST = {"nut": 5e-3, "rest": 3e-3, "bottom": 3e-3}
"""m beyond which no nut is turned and no felt or washer is laid in: a reading is wrong, or a part is (assumed)."""


@dataclass(frozen=True)
class Cause:
    """Why a note is not regulated, or not by this work alone.

    Attributes
    ----------
    note : int
    stage : str
        Of `keyaction.sim.regulating.aims.STAGES`, where it belongs.
    kind : str
        What stands out: a kind of change, a word of the sheet, or "contradiction".
    amount : float
        Of that kind; NaN of others.
    said : str
        In words, without the note.
    sent : {"diagnose", "measure", "unhook"}
        Where it goes on.
    stops : bool
        Whether nothing at all is turned at this note before.
    """

    note: int
    stage: str
    kind: str
    amount: float
    said: str
    sent: Sent
    stops: bool


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
    return found + _silent(state, readings)


def _disagreeing(state: State, readings: Readings) -> list[Cause]:
    by: dict[int, list[str]] = {}
    for one in readings.disagreements:
        by.setdefault(one.note, []).append(BY_NAME[one.figure].heading)
    return [
        Cause(note, "recheck", "contradiction", np.nan, f"readings of {_and(names)} disagree", "measure", True)
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
            names = _and([BY_NAME[name].heading for name in far])
            said = f"{names}: cannot be with what else was read here; if it stays so, something is wrong"
            found.append(Cause(state.bench.notes[i], "recheck", "contradiction", np.nan, said, "measure", True))
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


def _silent(state: State, readings: Readings) -> list[Cause]:
    """Notes that cipher or hang: their readings say nothing of a note that plays."""
    play = readings.values(("play",), state.bench.notes)[:, 0]
    error = readings.errors(("play",), state.bench.notes)[:, 0]
    ample = play > np.maximum(TIGHT, 2.0 * error)
    told = {
        "ciphers": ("rail", "it sounds unplayed: run too tight, or the pallet does not shut", "unhook"),
        "hangs": ("pull-downs", "its key stays down: friction, a weak spring, or something in the way", "diagnose"),
    }
    loose = "it sounds unplayed though its key has play: not the nut; the pallet does not shut, or leaks"
    return [
        Cause(note, "pallets seat", "open", np.nan, loose, "diagnose", True)
        if word == "ciphers" and has_play
        else Cause(note, told[word][0], word, np.nan, told[word][1], told[word][2], True)  # type: ignore[arg-type]
        for note, word, has_play in zip(state.bench.notes, state.speech, ample, strict=True)
        if word in told
    ]


def _and(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def workable(state: State, found: list[Cause]) -> Flags:
    """Notes at which something may be turned."""
    stopped = {one.note for one in found if one.stops}
    return np.array([ok and note not in stopped for ok, note in zip(state.known, state.bench.notes, strict=True)])
