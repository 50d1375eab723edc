"""Notes made shorter or longer in the pallet together, round after round, until the press confirms each length."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.train import Train, TrainProblem
from keyaction.sim.run.standings import standings
from keyaction.sim.sizes.search import STEP, Length, kept, moved
from keyaction.sim.sizes.shape import Shape
from keyaction.sim.sizes.sized import EYE, Sized
from keyaction.sim.sizes.tried import Tried, tried

MOST = 6
"""Presses of one way after which its length is taken as it is."""


@dataclass
class _Way:
    """One way to shorten a note's pallet, and where its search stands."""

    one: Sized
    shape: Shape
    find: Callable[[Shape, float, float], Length | None]
    after: _Way | None = None
    """A way that must end at the eye before this one is of use."""
    at: Length | None = None
    tried: Tried | None = None
    presses: int = 0
    problem: str = ""

    def asks(self) -> bool:
        """Whether a length is to be pressed next: the first, and another wherever the last press changes it."""
        if self.problem or self.presses >= MOST:
            return False
        if self.after and (self.after.at is None or self.after.at.limit != EYE):
            return False
        travel = self.one.drawn.travel if self.tried is None else self.tried.travel
        found = self.find(self.shape, self.one.inlet, travel)
        settled = found and self.at and -1.5 * STEP < found.length - self.at.length < STEP / 2
        if not settled:
            self.at = found
        return found is not None and not settled

    def train(self) -> Train | None:
        """The train with the length that is asked for; None, and why, where it cannot be built."""
        assert self.at is not None
        try:
            return self.shape.train_of(self.at.length)
        except TrainProblem as problem:
            self.problem = problem.defects[0]
            return None

    @property
    def good(self) -> bool:
        """Whether it has come to a pallet that feeds and shuts."""
        return self.at is not None and self.tried is not None and self.tried.feeds and not self.problem


def shortened(begun: Sequence[tuple[Sized, Shape]], strokes: Strokes, keep_eye: bool, jobs: int = 0) -> list[Sized]:
    """Every note with its smallest opening, or why it has none.

    Parameters
    ----------
    begun : sequence of (Sized, Shape)
        Notes as drawn; those with a reason in ``why`` are left as they are.
    strokes : Strokes
    keep_eye : bool
        Whether eye and spring must keep their places.
    jobs : int
        Threads; 0 means one per core.
    """
    ways = [_ways(one, shape, keep_eye) for one, shape in begun]
    waiting = [way for of in ways for way in of if way.asks()]
    while waiting:
        trains = {k: train for k, way in enumerate(waiting) if (train := way.train()) is not None}
        for k, standing in standings(trains, strokes, jobs).items():
            waiting[k].tried = tried(standing)
            waiting[k].presses += 1
        waiting = [way for way in waiting if way.asks()]
    return [_decided(one, of) if of else one for (one, _), of in zip(begun, ways, strict=True)]


def _ways(one: Sized, shape: Shape, keep_eye: bool) -> list[_Way]:
    """The eye in its place, and further back; the second is of use only where the eye ends the first."""
    if one.why:
        return []
    first = _Way(one, shape, kept)
    return [first] if keep_eye else [first, _Way(one, shape, moved, first)]


def _decided(one: Sized, ways: Sequence[_Way]) -> Sized:
    """The note with its shorter way, if that plucks more lightly, else with its eye in its place."""
    presses = 1 + sum(way.presses for way in ways)
    good = [way for way in ways if way.good]
    if not good:
        return replace(one, presses=presses, why=_why_not(one, ways[0]))
    best = min(good, key=lambda way: way.tried.pluck if way.tried else 0.0)
    first = ways[0].tried if ways[0].good else None
    limit = best.at.limit if best.at else ""
    return replace(one, smallest=best.tried, kept=first, limit=limit, presses=presses)


def _why_not(one: Sized, way: _Way) -> str:
    """Why no length will do."""
    if way.problem:
        return way.problem
    if way.at is None or way.tried is None:
        return f"no opening up to {way.shape.longest * 1e3:.0f} mm, the longest there can be, reaches {one.wanted:.0%}"
    if way.tried.closing <= 0.0:
        return f"with an opening of {way.at.length * 1e3:.1f} mm the spring would not shut the pallet without wind"
    return str(way.tried.verdict)
