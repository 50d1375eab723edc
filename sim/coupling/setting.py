"""What a key is like with a coupler set to some play, and the bench on which settings are tried."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.train import Train
from keyaction.sim.coupling.moved import pallets_behind, with_play
from keyaction.sim.figures.play import NotPlayed, press_note
from keyaction.sim.figures.quantities import loop_work
from keyaction.sim.figures.record import Pressed, Record
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.figures.sounding import pallet_groove_share, pallet_lift, pallet_opening_time
from keyaction.sim.figures.verdict import Verdict, verdicts
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.motion.strokes import standard_stroke
from keyaction.sim.statics.balance import NoEquilibrium
from keyaction.sim.statics.press import StaticPress, Ways

WIDEST = 0.02
"""m: the largest play that a coupler may have; it couples nothing then, where its driven side is at rest."""


@dataclass(frozen=True)
class Setting:
    """Figures of a key with a coupler at some play; mappings are by pallet, in train order.

    Attributes
    ----------
    play : float
        m, where the coupler gives.
    peak : float
        Highest key force of the slow press up to 1 mm past the last pluck, N; NaN where no pallet opens.
    plucks : mapping of str to float
        Key travel at which each pallet leaves its seat, m; NaN where it does not.
    lifts, shares : mapping of str to float
        Lift (m) and pressure in the groove over that of its box, the key held at the bottom by the dip force.
    work : float
        Lost in a slow stroke, J; NaN where the way up was not followed.
    opened : mapping of str to float
        s from the key's passing 1 mm to each groove's passing half of its box's pressure in the standard stroke;
        empty where none was played.
    verdicts : mapping of str to Verdict
        Empty where the way up was not followed.
    """

    play: float
    peak: float
    plucks: Mapping[str, float]
    lifts: Mapping[str, float]
    shares: Mapping[str, float]
    work: float = math.nan
    opened: Mapping[str, float] = field(default_factory=dict)
    verdicts: Mapping[str, Verdict] = field(default_factory=dict)

    @property
    def first(self) -> str:
        """The pallet that opens first; empty where none does."""
        known = {name: at for name, at in self.plucks.items() if math.isfinite(at)}
        return min(known, key=lambda name: known[name]) if known else ""

    def after(self, driven: str, own: str) -> float:
        """Key travel from the pluck of one pallet to that of another, m: below 0 where the driven one comes first."""
        return self.plucks[driven] - self.plucks[own]

    def delay(self, driven: str, own: str) -> float:
        """Time from the speech of one groove to that of another, s; NaN where no stroke was played."""
        return self.opened.get(driven, math.nan) - self.opened.get(own, math.nan)


class Bench:
    """A train on which one coupler's play is tried; settings are kept.

    Parameters
    ----------
    train : Train
    coupler : str
        Its name in the train.
    strokes : Strokes
    """

    def __init__(self, train: Train, coupler: str, strokes: Strokes) -> None:
        self.train, self.coupler, self.strokes = train, coupler, strokes
        self.stated = train.value(coupler, "play")
        self.moved = pallets_behind(train.structure, coupler)
        self.presses = 0
        self._down: dict[float, Setting] = {}
        self._rest: tuple[float, Floats] | None = None

    def at(self, play: float) -> Setting:
        """The slow press down at a play, m: all but work, verdicts and times.

        Raises
        ------
        keyaction.sim.figures.play.NotPlayed
            When its equilibria cannot be followed.
        """
        if play not in self._down:
            self._down[play] = self._pressed_down(play)
        return self._down[play]

    def whole(self, play: float, stroke: bool = True) -> Setting:
        """The slow press down and up at a play, and the standard stroke; errors as of `at`."""
        self.presses += 1
        model = NoteModel(with_play(self.train, self.coupler, play))
        with np.errstate(all="ignore"):
            pressed = press_note(model, self.strokes, self._resting(play, model))
        found = _read(pressed, play)
        names = [one.pallet for one in pressed.press.sounders]
        told = dict(zip(names, verdicts(pressed), strict=True))
        found = replace(found, work=loop_work(pressed), verdicts=told)
        return replace(found, opened=_opened(pressed)) if stroke else found

    def _pressed_down(self, play: float) -> Setting:
        self.presses += 1
        model = NoteModel(with_play(self.train, self.coupler, play))
        rest = self._resting(play, model)
        try:
            with np.errstate(all="ignore"):
                ways = Ways(model, self.strokes.press_stiffness, self.strokes.dip_force, rest)
                down = ways.course(1, ways.down)
        except NoEquilibrium:
            press_note(model, self.strokes, rest)  # which says it in words
            raise
        return _read(Pressed(model, self.strokes, StaticPress(down, down)), play)  # nothing here reads the way up

    def _resting(self, play: float, model: NoteModel) -> Floats:
        """The state of rest: one for all plays from some on, where the coupler bears on nothing that it drives."""
        if self._rest is None or play < self._rest[0]:
            rest = model.rest()
            free = NoteModel(with_play(self.train, self.coupler, WIDEST)).rest()
            if not np.array_equal(rest, free):
                return rest
            self._rest = play, rest
        return self._rest[1]


def _read(pressed: Pressed, play: float) -> Setting:
    press = pressed.press
    ones = {one.pallet: one for one in press.sounders}
    return Setting(
        play,
        press.pluck_force,
        {name: press.leaves(one) for name, one in ones.items()},
        {name: pallet_lift(pressed, one) for name, one in ones.items()},
        {name: pallet_groove_share(pressed, one) for name, one in ones.items()},
    )


def _opened(pressed: Pressed) -> dict[str, float]:
    """When each groove speaks in the standard stroke."""
    model = pressed.model
    assert isinstance(model, NoteModel)
    stroke = model.play(standard_stroke(model, pressed.strokes))
    if not stroke.status.ok:
        raise NotPlayed(f"standard stroke: {stroke.status.message}; {stroke.status.remedy}")
    record = Record(model, pressed.strokes, pressed.press, stroke, {}, Repetition(math.nan, "", 0))
    return {one.pallet: pallet_opening_time(record, one) for one in pressed.press.sounders}
