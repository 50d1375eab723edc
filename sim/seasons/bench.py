"""What adjusting asks of a division: ways of its rods, places that many notes share, and presses of a turned note."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.train import TrainProblem
from keyaction.sim.figures import quantities as q
from keyaction.sim.figures.play import NotPlayed, press_note
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.seasons.advice import Place
from keyaction.sim.seasons.places import places_of
from keyaction.sim.seasons.season import DivisionSeason
from keyaction.sim.tightening.refer import strand, ways
from keyaction.sim.tightening.tightness import Tightness, stretched

Feel = Callable[[Tightness, float, str, float], Mapping[str, float]]
"""Touch of a note whose rod that stands for all is drawn tighter by so much, and another let out by so much, m."""
REST = "rest"
"""Way of the key front at rest, m, down positive: what its level is read from."""
_TOUCH = {"lost_motion": q.lost_motion, "steady_lift": q.steady_lift, "pluck_point": q.pluck_point}


@dataclass(frozen=True)
class Bench:
    """What is known of a division's trains besides its season.

    Attributes
    ----------
    ways : mapping of int to mapping of str to float
        By note: way of every rod between key and pallet per way of the key front, the one at the key first.
    eyes : mapping of int to float
        By note: way of the last rod, which opens the pallet, per way of the key front.
    places : tuple of Place
    feel : Feel
        `REST`, and figures by the names of `keyaction.sim.seasons.season.LABELS`; empty where it cannot be pressed.
    written : mapping of int to tuple of str
        By note: rods at which the case writes play.
    """

    ways: Mapping[int, Mapping[str, float]]
    eyes: Mapping[int, float]
    places: tuple[Place, ...]
    feel: Feel
    written: Mapping[int, tuple[str, ...]] = field(default_factory=dict)


def bench_of(season: DivisionSeason) -> Bench:
    """The bench of a division, from the trains of its notes that have not failed."""
    trains = {note: one.tightness.train for note, one in season.notes.items() if one.tightness is not None}
    own = {note: ways(train) for note, train in trains.items()}
    strands = {note: {rod: own[note][rod] for rod in strand(trains[note]) if rod in own[note]} for note in trains}
    eyes = {note: abs(next(reversed(every.values()))) for note, every in strands.items()}
    written = {
        note: tuple(rod for rod in strands[note] if one.value(rod, "slack") > 0.0) for note, one in trains.items()
    }
    return Bench(strands, eyes, places_of(season, strands), pressed(season.case.strokes), written)


def pressed(strokes: Strokes) -> Feel:
    """Touch by the slow press, as `run` has it; each is made once."""

    known: dict[tuple[int, float, str, float], Mapping[str, float]] = {}

    def feel(tightness: Tightness, stretch: float, rod: str, out: float) -> Mapping[str, float]:
        asked = tightness.note, stretch, rod, out
        if asked not in known:
            known[asked] = press(tightness, stretch, rod, out)
        return known[asked]

    def press(tightness: Tightness, stretch: float, rod: str, out: float) -> Mapping[str, float]:
        train = stretched(tightness.train, tightness.rod, stretch)
        train = stretched(train, rod, -out) if out else train
        try:
            record = press_note(NoteModel(train), strokes)
        except (NotPlayed, TrainProblem, ValueError, ArithmeticError):  # open at rest, or not to be followed
            return {}
        return {REST: record.press.down.rest, **{name: read(record) for name, read in _TOUCH.items()}}

    return feel
