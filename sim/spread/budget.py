"""Where the spread of a note's pluck force comes from, to first order: each input moved alone by its own spread.

JCGM 100:2008 (GUM), 5.1.2: u² is the sum of (c u_i)² over independent inputs; c u_i is found by moving the input up and
down by its standard deviation, as its note to 5.1.3 has it (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.cases.study.spans import Deviation
from keyaction.cases.study.spreads import Piece, Uncertain, allowed_deviations
from keyaction.models.fields.values import Given
from keyaction.models.train.given import AnyPart, with_values
from keyaction.models.train.train import Train, TrainProblem, build_train
from keyaction.sim.figures.play import NotPlayed, press_note
from keyaction.sim.lanes.presses import DesignModel
from keyaction.sim.sweep.designs import Recipe, changed_design
from keyaction.sim.sweep.pieces import value_of


@dataclass(frozen=True)
class Part:
    """What one input adds to the spread of a figure of one note, in its SI unit: one standard deviation each.

    `common` is what it does to all notes together, `own` to the note alone.
    """

    name: str
    common: float
    own: float

    @property
    def variance(self) -> float:
        """Both together."""
        return self.common**2 + self.own**2


Figure = Callable[[Train], float]


def pluck_of(recipe: Recipe) -> Figure:
    """The pluck force of a train; NaN where it has none."""

    def found(train: Train) -> float:
        try:
            return press_note(DesignModel(train), recipe.strokes).press.pluck_force
        except NotPlayed:
            return math.nan

    return found


def budget(recipe: Recipe, doubts: Sequence[Uncertain], figure: Figure | None = None) -> list[Part]:
    """What every input adds at the one note of a recipe.

    Parameters
    ----------
    recipe : Recipe
        Of one note.
    doubts : sequence of Uncertain
    figure : callable, optional
        Of a train to an SI float; the pluck force by default.

    Returns
    -------
    list of Part
        In the order of `doubts`; NaN where the note has no such figure.
    """
    bench = _Bench(recipe, figure or pluck_of(recipe))
    return [bench.part(one) for one in doubts]


def largest(parts: Iterable[Part], count: int = 3) -> list[tuple[Part, float]]:
    """The inputs that add most, each with its share of the variance."""
    known = [one for one in parts if math.isfinite(one.variance) and one.variance > 0.0]
    total = sum(one.variance for one in known)
    return [(one, one.variance / total) for one in sorted(known, key=lambda one: -one.variance)[:count]]


def together(parts: Iterable[Part]) -> float:
    """Standard deviation that all inputs give together, to first order; those that are not known are left out."""
    return math.sqrt(math.fsum(one.variance for one in parts if math.isfinite(one.variance)))


class _Bench:
    """One note, moved in one input at a time."""

    def __init__(self, recipe: Recipe, figure: Figure) -> None:
        self.recipe, self.figure = recipe, figure
        self.parts: Sequence[AnyPart] = recipe.parts[0]
        self.usual = self._measured(build_train(self.parts, recipe.library))

    def part(self, one: Uncertain) -> Part:
        """What an input adds."""
        whole = self._swing(one.common, lambda by: self._moved(one, by)) if one.common.size else 0.0
        if not one.pieces or one.pieces[0].material:
            own = [self._swing(piece.deviation, lambda by, p=piece: self._apart(p, by)) for piece in one.pieces]  # type: ignore[misc]
            return Part(one.name, whole, math.sqrt(math.fsum(swing**2 for swing in own)))
        piece = one.pieces[0]
        if not one.common.size:
            return Part(one.name, 0.0, self._swing(self._bounded(piece), lambda by: self._apart(piece, by)))
        return Part(one.name, whole, whole * piece.deviation.sd / one.common.sd)

    def _swing(self, spread: Deviation, figure: Callable[[float], float]) -> float:
        """Half of what the figure changes from one standard deviation below to one above."""
        below, above, stretch = spread.around
        low, high = figure(below), figure(above)
        if math.isnan(low) or math.isnan(high):
            return stretch * ((high - self.usual) if math.isnan(low) else (self.usual - low))
        return stretch * (high - low) / 2.0

    def _bounded(self, piece: Piece) -> Deviation:
        own = value_of(self._given(piece.part), piece, self.recipe.library)
        ends = allowed_deviations(piece.field, own or 0.0, piece.deviation.factor)
        return piece.deviation.within(*ends)

    def _given(self, part: str) -> dict[str, Given]:
        return next(dict(given) for _, name, given, *_ in self.parts if name == part)

    def _moved(self, one: Uncertain, by: float) -> float:
        """The figure with the common part of an input at a deviation."""
        change = (one.target, by, one.input.how)
        (train,) = changed_design(self.recipe.parts, self.recipe.library, self.recipe.strokes, [change]).trains
        return math.nan if isinstance(train, str) else self._measured(train)

    def _apart(self, piece: Piece, by: float) -> float:
        """The figure with one piece at a deviation."""
        given = self._given(piece.part)
        own = value_of(given, piece, self.recipe.library)
        if own is None:
            return self.usual
        given[piece.path] = Given(own * by if piece.deviation.factor else own + by, "moved")
        made = [with_values(one, given) if one[1] == piece.part else one for one in self.parts]
        try:
            return self._measured(build_train(made, self.recipe.library))
        except TrainProblem:
            return math.nan

    def _measured(self, train: Train) -> float:
        with np.errstate(all="ignore"):
            return float(self.figure(train))
