"""What adjusting asks of a division: ways of its rods, places that many notes share, and presses of a turned note."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.train import TrainProblem
from keyaction.sim.figures import quantities as q
from keyaction.sim.figures.play import NotPlayed, press_note
from keyaction.sim.figures.sketch import rigid
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.seasons.advice import Place
from keyaction.sim.seasons.season import DivisionSeason, NoteSeason
from keyaction.sim.tightening.tightness import Tightness, stretched

Feel = Callable[[Tightness, float, str, float], Mapping[str, float]]
"""Touch of a note whose rod that stands for all is drawn tighter by so much, and another let out by so much, m."""
_TOUCH = {"lost_motion": q.lost_motion, "steady_lift": q.steady_lift, "pluck_point": q.pluck_point}


@dataclass(frozen=True)
class Bench:
    """What is known of a division's trains besides its season.

    Attributes
    ----------
    ways : mapping of int to mapping of str to float
        By note: way of every rod with a nut per way of the key front.
    eyes : mapping of int to float
        By note: way of the last rod, which opens the pallet, per way of the key front.
    places : tuple of Place
    feel : Feel
        Figures by the names of `keyaction.sim.seasons.season.LABELS`; empty where the note cannot be pressed.
    """

    ways: Mapping[int, Mapping[str, float]]
    eyes: Mapping[int, float]
    places: tuple[Place, ...]
    feel: Feel


def bench_of(season: DivisionSeason, places: tuple[Place, ...] = ()) -> Bench:
    """The bench of a division, from the trains of its notes that have not failed.

    Parameters
    ----------
    season : DivisionSeason
    places : tuple of Place
        As `keyaction.sim.seasons.places.places_of` finds them.
    """
    found = {n: rigid(one.tightness.train) for n, one in season.notes.items() if one.tightness is not None}
    ways = {note: {rod: way for rod in season.rods[note] if (way := levers.way(rod))} for note, levers in found.items()}
    return Bench(ways, {note: levers.last for note, levers in found.items()}, places, pressed(season.case.strokes))


def pressed(strokes: Strokes) -> Feel:
    """Touch by the slow press, as `run` has it."""

    def feel(tightness: Tightness, stretch: float, rod: str, out: float) -> Mapping[str, float]:
        train = stretched(tightness.train, tightness.rod, stretch)
        train = stretched(train, rod, -out) if out else train
        try:
            record = press_note(NoteModel(train), strokes)
        except (NotPlayed, TrainProblem, ValueError, ArithmeticError):  # open at rest, or not to be followed
            return {}
        return {name: read(record) for name, read in _TOUCH.items()}

    return feel


def at_rest(one: NoteSeason, stretch: float) -> dict[str, float]:
    """Margin and level of a note at a stretch, m: the level by the rod's way alone, the key's own wood left out."""
    known = one.tightness
    if known is None:
        return {}
    travel = known.at(known.travel, [stretch, 0.0])  # type: ignore[arg-type]
    return {"margin": (known.opens - stretch) / known.way, "level": float(travel[1] - travel[0])}
