"""One coupler at one note: what it moves, how it stands, and the play that is to be set."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.train import Train
from keyaction.sim.coupling.moved import others_onto, with_play
from keyaction.sim.coupling.setting import WIDEST, Bench, Setting
from keyaction.sim.coupling.split import Own, Split, Wishes, below_least, spare, split, staggered
from keyaction.sim.figures.play import NotPlayed, press_note
from keyaction.sim.figures.sounding import pallet_groove_share, pallet_lift
from keyaction.sim.figures.verdict import Fate, Verdict, verdicts
from keyaction.sim.motion.note import NoteModel

_SOUND = (Fate.SPEAKS, Fate.WEAK, Fate.NO_WIND)
"""Verdicts of a pallet that a coupler can be set for."""


@dataclass(frozen=True)
class DrivenNote:
    """A note that a coupler drives, its key pressed itself; its pallets by their names in the coupled train."""

    train: Train
    strokes: Strokes
    names: Mapping[str, str]


@dataclass(frozen=True)
class Task:
    """All that is needed to set one coupler at one note.

    `train` is the played key's with this coupler and those that were set before it; `coupler` its name there. `driven`
    is the note that it drives, with those set before.
    """

    name: str
    division: str
    note: int
    train: Train
    coupler: str
    strokes: Strokes
    driven: DrivenNote
    wishes: Wishes
    stagger: float = math.nan


@dataclass(frozen=True)
class SetCoupler:
    """What became of a coupler at a note; pallets by their names in the coupled train.

    Attributes
    ----------
    name : str
        The coupler.
    division : str
        Whose key is pressed.
    note : int
    pallet : str
        The driven pallet that stands for all that the coupler moves: the first of its own train.
    own_pallet : str
        Of the played key.
    own : mapping of str to Own
        What the moved pallets do when the driven key itself is pressed, those set before drawn.
    stated : Setting, optional
        With the play that the instrument gives; None where that cannot be played.
    free : Setting, optional
        With no play.
    chosen : Setting, optional
        With the play that is to be set; None where the coupler is left as it is.
    split : Split, optional
    staggered : Setting, optional
        With the plucks the asked travel apart; None where that was not asked for, or no play does it.
    reason : str
        Why it is left as it is; empty where it is not.
    presses : int
        Slow presses that were followed.
    """

    name: str
    division: str
    note: int
    pallet: str
    own_pallet: str
    own: Mapping[str, Own] = field(default_factory=dict)
    stated: Setting | None = None
    free: Setting | None = None
    chosen: Setting | None = None
    split: Split | None = None
    staggered: Setting | None = None
    reason: str = ""
    presses: int = 0

    @property
    def play(self) -> float:
        """The play to set, m; the stated one where it is left as it is, NaN where nothing could be played."""
        found = self.chosen or self.stated
        return found.play if found else math.nan


def regulate(task: Task) -> SetCoupler:
    """Set one coupler at one note."""
    bench = Bench(task.train, task.coupler, task.strokes)
    own_pallet = task.train.role("pallet").name
    moved = bench.moved
    made = {"name": task.name, "division": task.division, "note": task.note}
    made |= {"own_pallet": own_pallet, "pallet": moved[0] if moved else ""}
    found: dict[str, object] = {}
    try:
        found["reason"] = _set(task, bench, own_pallet, found)
    except NotPlayed as problem:
        found["reason"] = str(problem.verdict) if problem.verdict.fate is not Fate.UNKNOWN else str(problem)
        found.pop("chosen", None)
    return SetCoupler(**made, **({"presses": bench.presses} | found))  # type: ignore[arg-type]


def _set(task: Task, bench: Bench, own_pallet: str, found: dict[str, object]) -> str:
    """Put together what is found, as far as that goes; returns why the coupler is left as it is."""
    stated = bench.whole(bench.stated)
    found["stated"] = stated
    told, own = _by_driven_key(task.driven, bench.moved)
    found["own"] = own
    if wrong := _unfit(stated, own_pallet, told):
        return wrong
    found["free"] = bench.whole(0.0) if math.isfinite(task.stagger) else bench.at(0.0)
    if math.isfinite(task.stagger):
        play = staggered(bench, own_pallet, bench.moved[0], task.stagger)
        found["staggered"] = bench.whole(play) if math.isfinite(play) else None
    alone = _alone(bench)
    try:
        best = split(bench, alone, own, task.wishes)
        found["split"] = best
        if math.isnan(best.play):
            return _lacking(alone, own, task.wishes)
    finally:
        found["presses"] = bench.presses + (alone.presses if alone is not bench else 0)
    found["chosen"] = stated if best.play == bench.stated else bench.whole(best.play)
    return ""


def _alone(bench: Bench) -> Bench:
    """The same with the couplers out of reach that move the same pallets."""
    train = bench.train
    others = others_onto(train.structure, bench.coupler)
    for other in others:
        train = with_play(train, other, WIDEST)
    return Bench(train, bench.coupler, bench.strokes) if others else bench


def _by_driven_key(one: DrivenNote, moved: Sequence[str]) -> tuple[dict[str, Verdict], dict[str, Own]]:
    """Verdicts and lifts of the moved pallets, the driven key pressed itself."""
    told: dict[str, Verdict] = {}
    own: dict[str, Own] = {}
    with np.errstate(all="ignore"):
        pressed = press_note(NoteModel(one.train), one.strokes)
    for sounder, verdict in zip(pressed.press.sounders, verdicts(pressed), strict=True):
        name = one.names[sounder.pallet]
        if name in moved:
            told[name] = verdict
            own[name] = Own(pallet_lift(pressed, sounder), pallet_groove_share(pressed, sounder))
    return told, own


def _unfit(stated: Setting, own_pallet: str, told: Mapping[str, Verdict]) -> str:
    """Why no play can be judged here; empty where one can."""
    if stated.verdicts[own_pallet].fate not in _SOUND:
        return f"the played note by itself: {stated.verdicts[own_pallet]}; mend that first"
    for pallet, verdict in told.items():
        if stated.verdicts[pallet].fate is Fate.HELD:
            return f"{pallet}: {stated.verdicts[pallet]}; nothing to set"
        if verdict.fate not in _SOUND:
            return f"{pallet} with the driven key alone: {verdict}; mend that first"
        if stated.verdicts[pallet].fate in (Fate.HANGS, Fate.CIPHER):
            return f"{pallet} coupled: {stated.verdicts[pallet]}; mend that first"
    return ""


def _lacking(bench: Bench, own: Mapping[str, Own], wishes: Wishes) -> str:
    """Why the wished lift cannot be had: play or ratio."""
    free = bench.at(0.0)
    short = [name for name, one in own.items() if spare(free, {name: one}, wishes) < 0.0]
    if not short:
        most, least = below_least(bench, own, wishes) * 1e3, wishes.least_play * 1e3
        return f"the lift that is asked for allows {most:.2f} mm of play, less than the least of {least:.2f} mm"
    worst = min(short, key=lambda name: spare(free, {name: own[name]}, wishes))
    lift, full = free.lifts[worst] * 1e3, own[worst].lift * 1e3
    wants = wishes.lift(own[worst]) * 1e3
    return (
        f"{worst} lifts {lift:.2f} mm with no play at all, {full:.2f} mm with the driven key alone, "
        f"{wants:.2f} mm is asked for: the ratio of the coupler, or what it gives, takes it, and no play can mend that"
    )
