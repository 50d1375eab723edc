"""Designs that were built together: rows of parameters by structure, and a train for who asks for one."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, reduce
from operator import add

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.action.strokes import Strokes
from keyaction.models.algebra.names import Name
from keyaction.models.train.structure import Structure
from keyaction.models.train.train import PartProblem, Train
from keyaction.sim.code.kernel import load_kernel
from keyaction.sim.motion.integrate import Floats

Places = NDArray[np.int64]
Figure = tuple[str, str]
"""A part and a figure that it derived."""

CLOSING, WAVE, FEET = "closing_no_wind", "wave_time", "feet"
"""What quantities and verdicts are read from besides parameters of the equations."""


@dataclass(frozen=True)
class Group:
    """Trains of one structure on which the same is played.

    Attributes
    ----------
    places : (N,) array of int
        By design, then note: number of the design among the rows x notes + place of the note; rising.
    structure : tuple of Member
    strokes : Strokes
    names : tuple of Name
        Parameters of the equations, and constants that all trains have.
    table : (names, N) array
        Their values.
    figures : mapping of (part, figure) to (N,) array
        What quantities are read from besides.
    maker : callable
        Gives the train at a place.
    """

    places: Places
    structure: Structure
    strokes: Strokes
    names: tuple[Name, ...]
    table: Floats
    figures: Mapping[Figure, Floats]
    maker: Callable[[int], Train | str] = field(repr=False)

    def __len__(self) -> int:
        return len(self.places)

    def rows(self, names: Sequence[Name]) -> Floats:
        """Parameters in this order, a row for each train.

        Raises
        ------
        PartProblem
            If one of them was never set.
        """
        at = {name: k for k, name in enumerate(self.names)}
        for name in names:
            if name not in at:
                raise PartProblem(f"{name.part or 'the train'} has no parameter {name.what}")
        return np.ascontiguousarray(self.table[[at[name] for name in names]].T)

    @cached_property
    def parameters(self) -> Floats:
        """(N, parameters) array, in the order of the structure's equations."""
        return self.rows(load_kernel(self.structure).parameters)

    def train(self, i: int) -> Train:
        """The train of one of them, made as `make_design` makes it."""
        found = self.maker(int(self.places[i]))
        assert isinstance(found, Train), found
        return found

    def some(self, which: Places) -> Group:
        """Some of the trains."""
        figures = {key: values[which] for key, values in self.figures.items()}
        return replace(self, places=self.places[which], table=self.table[:, which], figures=figures)

    def derived(self, role: str, name: str) -> Floats:
        """A figure, SI, that the first part of a role derived: a parameter, or one that quantities are read from."""
        part = next(member.name for member in self.structure if member.part.role == role)
        if (part, name) in self.figures:
            return self.figures[part, name]
        return np.asarray(self.table[self.names.index(Name(part, name))])

    @property
    def wave_time(self) -> Floats:
        """What `keyaction.sim.figures.quantities.wave_time` reads."""
        keys = [(member.name, WAVE) for member in self.structure if (member.name, WAVE) in self.figures]
        return reduce(add, (self.figures[key] for key in keys)) if keys else np.full(len(self), np.nan)


@dataclass(frozen=True)
class Rows:
    """Designs of some rows of a plan.

    Attributes
    ----------
    values : (designs, inputs) array
        Of the inputs, as `Design.values` has them.
    groups : tuple of Group
    status : list of str
        By design, then note: why there is no train, else empty.
    alone : int
        How many trains had to be built one by one.
    """

    values: Floats
    groups: tuple[Group, ...]
    status: list[str]
    alone: int
