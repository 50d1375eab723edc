"""From the figures of designs to what is wanted of them: aims, how short of the limits each is, and why."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.study.search import COST, EVENNESS, Figure, Limit, Search
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.evenness import neighbour_steps
from keyaction.sim.figures.limits import NO_FORCE
from keyaction.sim.figures.registry import Resolution
from keyaction.sim.figures.verdict import Fate

Floats = NDArray[np.float64]
OK = "ok"
FINEST = 1e-3
"""A pluck of 1 to 10 N is told apart to a mN, one of 10 to 100 gf so too: far below what a finger tells."""
FAILS, UNSOUND = 100.0, 10.0
"""How short a design is that cannot be played, and one whose notes do not speak and fall silent: beyond limits."""


@dataclass(frozen=True)
class Looked:
    """Figures of designs.

    Attributes
    ----------
    values : (n, notes, quantities) array
        SI.
    inputs : (n, inputs) array
        Values of the inputs; of words their numbers.
    costs : (n,) array
        Price of the rods of all notes; NaN where one has no price.
    status, verdict, sensitive : (n, notes) arrays of str
    """

    values: Floats
    inputs: Floats
    costs: Floats
    status: NDArray[np.object_]
    verdict: NDArray[np.object_]
    sensitive: NDArray[np.object_]

    def __len__(self) -> int:
        return len(self.values)

    def some(self, rows: Sequence[int] | NDArray[np.int64]) -> Looked:
        """Of some of the designs."""
        return Looked(*(getattr(self, name)[rows] for name in self.__dataclass_fields__))

    @classmethod
    def joined(cls, parts: Sequence[Looked]) -> Looked:
        """Of several in one."""
        return cls(*(np.concatenate([getattr(one, name) for one in parts]) for name in cls.__dataclass_fields__))


@dataclass(frozen=True)
class Scores:
    """What is wanted of designs.

    Attributes
    ----------
    aims : (n, aims) array
        SI; NaN where a design has no such figure.
    limits : (n, limits) array
        The figures that limits are set to.
    short : (n,) array
        By how much a design falls short of what must hold, 0 if of nothing.
    """

    aims: Floats
    limits: Floats
    short: Floats

    def costs(self, aims: Sequence[Figure]) -> Floats:
        """Aims as what is to be small; infinite where there is none."""
        signs = np.array([-1.0 if one.more else 1.0 for one in aims])
        return np.where(np.isfinite(self.aims), self.aims * signs, np.inf)

    def told_apart(self) -> Floats:
        """Aims to a thousandth of the power of ten that they reach: what differs by less is not told apart."""
        there = np.where(np.isfinite(self.aims), np.abs(self.aims), 0.0).max(axis=0, initial=0.0)
        steps = 10.0 ** np.floor(np.log10(np.where(there > 0.0, there, 1.0))) * FINEST
        return np.asarray(np.round(self.aims / steps) * steps)


def quantities_of(search: Search) -> tuple[str, ...]:
    """The quantities that must be computed, in the order of the registry."""
    names = needed_for(search.figures())
    found = tuple(name for name in QUANTITIES if name in names)
    return found or ("pluck_force",)


def needed_for(figures: Iterable[Figure]) -> set[str]:
    """Names of what must be computed for them: evenness comes of pluck forces."""
    return {"pluck_force" if one.name == EVENNESS else one.name for one in figures}


def resolution_of(name: str) -> Resolution:
    """How far apart values of a figure are; of evenness, a price and what varies as shares of themselves."""
    return QUANTITIES[name].resolution if name in QUANTITIES else Resolution()


def score(search: Search, looked: Looked) -> Scores:
    """What designs give of what is wanted."""
    aims = np.column_stack([figure_of(search, one, looked) for one in search.aims])
    given = [figure_of(search, one.figure, looked) for one in search.limits]
    limits = np.column_stack(given) if given else np.empty((len(looked), 0))
    short = sum((beyond(one, column) for one, column in zip(search.limits, given, strict=True)), np.zeros(len(looked)))
    fails, unsound = faults(looked)
    lacking = np.sum(~np.isfinite(aims), axis=1)
    return Scores(aims, limits, short + FAILS * fails.mean(axis=1) + UNSOUND * unsound.mean(axis=1) + lacking)


def faults(looked: Looked) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """(n, notes) each: which notes cannot be played, and which do not speak and fall silent, or are in doubt."""
    fails = looked.status != OK
    return fails, ~fails & ((looked.verdict != Fate.SPEAKS.value) | (looked.sensitive != ""))


def beyond(limit: Limit, values: Floats) -> Floats:
    """By how much values miss a limit, as a share of it; 1 where there is none."""
    against = max(abs(limit.value), resolution_of(limit.figure.name).least)
    missed = (limit.value - values if limit.figure.more else values - limit.value) / against
    return np.where(np.isfinite(values), np.maximum(missed, 0.0), 1.0)


def figure_of(search: Search, one: Figure, looked: Looked) -> Floats:
    """One figure of each design."""
    if one.name == COST:
        return looked.costs
    names = quantities_of(search)
    if one.name in QUANTITIES:
        return _over_notes(search.notes, one, looked.values[:, :, names.index(one.name)])
    if one.name == EVENNESS:
        return _over_notes(search.notes, one, _steps(search.notes, looked.values[:, :, names.index("pluck_force")]))
    number = next(k for k, given in enumerate(search.inputs) if given.name == one.name)
    return looked.inputs[:, number]


def _steps(notes: Sequence[int], forces: Floats) -> Floats:
    """Sizes of the steps from the note below; NaN is left where a neighbour is there and has no force."""
    numbers = np.array(notes)
    found = np.array([np.abs(neighbour_steps(numbers, row, NO_FORCE)) for row in forces]).reshape(forces.shape)
    alone = np.r_[True, np.diff(numbers) != 1]
    found[:, alone] = -1.0
    return found


def _over_notes(notes: Sequence[int], one: Figure, values: Floats) -> Floats:
    """One number of the values at each note: of a note, the mean, or the worst; NaN where one of them is none."""
    if one.note is not None:
        found = values[:, list(notes).index(one.note)]
    else:
        there = values if one.name != EVENNESS else values[:, ~np.all(values == -1.0, axis=0)]
        found = there.mean(axis=1) if one.mean else there.min(axis=1) if one.more else there.max(axis=1)
    return np.where(found == -1.0, np.nan, found) if one.name == EVENNESS else np.asarray(found)


def reasons(looked: Looked, note_names: Sequence[str]) -> Mapping[str, int]:
    """Why designs cannot be played or offered, and how many of each: of each design its first note that has a fault."""
    fails, unsound = faults(looked)
    found: dict[str, int] = {}
    for i in np.flatnonzero(np.any(fails | unsound, axis=1)):
        k = int(np.argmax(fails[i] | unsound[i]))
        told = str(looked.status[i, k]) if fails[i, k] else str(looked.verdict[i, k])
        if not fails[i, k] and told == Fate.SPEAKS.value:
            told = "its figures hang on how exactly it is integrated"
        text = f"{note_names[k]}: {told}"
        found[text] = found.get(text, 0) + 1
    return dict(sorted(found.items(), key=lambda item: -item[1]))
