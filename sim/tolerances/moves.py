"""Trains of one note with one thing moved by its tolerance, and what of that the equations of rest hang on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, partial

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import qr

from keyaction.cases.action.strokes import Strokes
from keyaction.cases.study.spans import Deviation
from keyaction.cases.study.spreads import Piece, Uncertain, allowed_deviations
from keyaction.models.fields.values import Given
from keyaction.models.materials.library import Library
from keyaction.models.train.given import AnyPart, with_values
from keyaction.models.train.train import Train, TrainProblem, build_train
from keyaction.sim.code.layout import DRIVE
from keyaction.sim.figures.record import Pressed
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.sweep.designs import changed_design
from keyaction.sim.sweep.pieces import value_of

STILL = 1e-10
"""Share of the largest change of an acceleration, below which a figure of the equations is in no balance of forces."""
RANK = 1e-6
"""Share of the largest move below which what a move has beside those chosen before is nothing."""
_PLACES = 24
"""Equilibria of each way at which that is looked at."""
_WAY = DRIVE.index("x0")


@dataclass(frozen=True)
class Bed:
    """One note as the case has it."""

    parts: tuple[AnyPart, ...]
    library: Library
    strokes: Strokes


@dataclass(frozen=True)
class Move:
    """One thing that deviates by a standard deviation.

    Attributes
    ----------
    tolerance : int
        Number of the tolerance.
    common, own : float
        Times the effect of this move that the part common to all notes has, and the note's own; 0 without such a part.
    spread : Deviation
    moved : callable
        The train at a deviation; None where it cannot be built.
    """

    tolerance: int
    common: float
    own: float
    spread: Deviation
    moved: Callable[[float], Train | None]

    @property
    def ends(self) -> tuple[float, float]:
        """A standard deviation below and above, inside what is allowed."""
        return self.spread.around[:2]

    @cached_property
    def first(self) -> float:
        """The end that is tried first: the upper one, unless the allowed range ends there."""
        low, high = self.ends
        return low if high - self.spread.middle <= 0.1 * (high - low) else high

    @property
    def rise(self) -> float:
        """What the difference of a figure between `first` and the case is multiplied by for one standard deviation."""
        low, high, stretch = self.spread.around
        whole = stretch * (high - low) / 2
        return whole / (self.first - self.spread.middle) if whole else 0.0

    @property
    def opposite(self) -> Train | None:
        """The train at the other end."""
        low, high = self.ends
        return self.moved(high if self.first == low else low)

    @property
    def across(self) -> float:
        """What the difference of a figure between `first` and the other end is multiplied by."""
        _, high, stretch = self.spread.around
        return (stretch if self.first == high else -stretch) / 2


def moves(bed: Bed, doubts: Sequence[Uncertain]) -> list[Move]:
    """Everything that deviates at a note: what is common, and of materials each own piece apart."""
    return [move for number, one in enumerate(doubts) for move in _of(bed, number, one)]


def _of(bed: Bed, number: int, one: Uncertain) -> list[Move]:
    found = []
    single = None if not one.pieces or one.pieces[0].material else one.pieces[0]
    if one.common.size:
        own = single.deviation.sd / one.common.sd if single else 0.0
        found.append(Move(number, 1.0, own, one.common, partial(_moved, bed, one)))
    elif single:
        found.append(Move(number, 0.0, 1.0, _bounded(bed, single), partial(_apart, bed, single)))
    if single is None:
        found += [Move(number, 0.0, 1.0, piece.deviation, partial(_apart, bed, piece)) for piece in one.pieces]
    return found


def _moved(bed: Bed, one: Uncertain, by: float) -> Train | None:
    """The note with the common part of a tolerance at a deviation."""
    (train,) = changed_design([bed.parts], bed.library, bed.strokes, [(one.target, by, one.input.how)]).trains
    return None if isinstance(train, str) else train


def _given(bed: Bed, part: str) -> dict[str, Given]:
    return next(dict(given) for _, name, given, *_ in bed.parts if name == part)


def _bounded(bed: Bed, piece: Piece) -> Deviation:
    own = value_of(_given(bed, piece.part), piece, bed.library)
    return piece.deviation.within(*allowed_deviations(piece.field, own or 0.0, piece.deviation.factor))


def _apart(bed: Bed, piece: Piece, by: float) -> Train | None:
    """The note with one piece at a deviation."""
    given = _given(bed, piece.part)
    own = value_of(given, piece, bed.library)
    if own is not None:
        given[piece.path] = Given(own * by if piece.deviation.factor else own + by, "moved")
    made = [with_values(one, given) if one[1] == piece.part else one for one in bed.parts]
    try:
        return build_train(made, bed.library)
    except TrainProblem:
        return None


def changes(base: Pressed, trains: Sequence[Train | None]) -> Floats:
    """How far trains are from a note in every figure of its equations: (trains, parameters), NaN for None."""
    names = base.model.kernel().parameters
    usual = np.array(base.model.train.vector(names))
    unknown = np.full(len(usual), np.nan)
    found = [unknown if train is None else np.array(train.vector(names)) - usual for train in trains]
    return np.array(found).reshape(len(trains), len(usual))


def shifted(base: Pressed, way: Floats, share: float) -> Train:
    """A note taken a share of the way to where another train is."""
    train = base.model.train
    for k in np.flatnonzero(way).tolist():
        name = base.model.kernel().parameters[k]
        train = train.with_parameter(name, train.parameters[name].value + share * float(way[k]), "moved")
    return train


def independent(ways: Floats) -> tuple[list[int], Floats]:
    """Moves of which all others are made: their numbers (k,), and how much of each is in every move (moves, k).

    Parameters
    ----------
    ways : (moves, parameters) array
        Each parameter counted in the largest of its changes.
    """
    if not ways.size:
        return [], np.zeros((len(ways), 0))
    triangle, order = qr(ways.T, mode="r", pivoting=True)
    sizes = np.abs(np.diag(triangle))
    chosen = order[: int(np.sum(sizes > RANK * sizes[0]))].tolist()
    return chosen, np.asarray(np.linalg.lstsq(ways[chosen].T, ways.T, rcond=None)[0].T)


def carried(base: Pressed, steps: Floats) -> NDArray[np.bool_]:
    """Which figures of the equations any balance of forces hangs on, (parameters,); `steps` is how far each goes.

    Where all forces are in balance accelerations are nothing, whatever the inertia; a figure that leaves them so
    everywhere on the way down and up is in no balance.
    """
    moved = np.flatnonzero(steps)
    found = np.zeros((len(moved), len(base.press.down.balance.rows)))
    for course in (base.press.down, base.press.up):
        balance = course.balance
        rates, drive, usual = balance.kernel.rates, balance.drive.copy(), balance.parameters
        vectors = [usual + np.where(np.arange(len(usual)) == k, steps, 0.0) for k in moved]
        for i in np.unique(np.linspace(0, len(course.finger) - 1, _PLACES).astype(int)).tolist():
            drive[_WAY] = course.finger[i]
            at = np.asarray(rates(0.0, course.states[i], usual, drive))[balance.rows]
            for row, one in enumerate(vectors):
                apart = np.asarray(rates(0.0, course.states[i], one, drive))[balance.rows] - at
                found[row] = np.maximum(found[row], np.abs(apart))
    scale = np.max(found, axis=0, initial=0.0)
    heavy = np.zeros(len(steps), dtype=bool)
    heavy[moved] = np.any(found > STILL * scale, axis=1)
    return heavy
