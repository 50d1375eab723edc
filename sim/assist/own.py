"""The train of a note as its case has it, and what the ways to relieve it have in common."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.cases.fields.tables import defaults
from keyaction.models.fields.values import Given
from keyaction.models.materials.library import Library
from keyaction.models.parts import PARTS
from keyaction.models.train.given import AnyPart
from keyaction.models.train.train import Train, TrainPart, build_train
from keyaction.sim.figures.record import Pressed
from keyaction.sim.statics.press import StaticPress
from keyaction.sim.statics.reading import JUST_PAST

_BODIES = ("key", "lever")
_RELIEVING = ("beam", "pneumatic-lever")
"""Kinds of levers that relieve a pallet by themselves."""
_ORIGIN = "assumed: usual size of this way to relieve a pallet"
FALLEN = 0.9
"""Share of the fall behind a pluck's peak after which the pluck is over (assumed)."""
LATEST = 0.5
"""Share of the way from pluck to bottom felt by which a second stage begins at the latest (assumed)."""


class NotBuilt(ValueError):
    """A version that there cannot be of this train; the message says why."""


@dataclass(frozen=True)
class Size:
    """A size that the program gave: words with a place for it, value and unit in SI, and why so much."""

    words: str
    value: float
    unit: str
    why: str = "assumed"


@dataclass(frozen=True)
class Built:
    """A train with relief, and the sizes that were given to it."""

    train: Train
    sizes: tuple[Size, ...] = ()


@dataclass(frozen=True)
class Own:
    """A note as its case has it; `pressed` is its slow press, None where that cannot be followed."""

    given: Sequence[AnyPart]
    library: Library
    strokes: Strokes
    train: Train
    pressed: Pressed | None

    def refuse_odd(self) -> None:
        """Complain about trains that cannot take any relief.

        Raises
        ------
        NotBuilt
        """
        roles = [part.role for part in self.train.parts]
        if roles.count("pallet") != 1 or roles.count("key") != 1:
            raise NotBuilt("the key opens several pallets already")
        if self.pallet.kind != "pallet":
            raise NotBuilt(f"{self.pallet.name} is a {self.pallet.kind} already")
        for part in self.train.parts:
            if part.kind in _RELIEVING:
                raise NotBuilt(f"{part.name} is a {part.kind} already")
        if "rod" not in roles[: roles.index("pallet")]:
            raise NotBuilt(f"no rod leads to {self.pallet.name}")
        rod = self.train.parts[self.last_rod]
        if not rod.values.has("lost_motion"):
            raise NotBuilt(f"{rod.name} is a {rod.kind}, which has no field lost_motion")

    @property
    def pallet(self) -> TrainPart:
        return self.train.role("pallet")

    @property
    def spring(self) -> TrainPart:
        return self.train.role("spring")

    def index(self, name: str) -> int:
        """Where a part stands in the list."""
        return [part.name for part in self.train.parts].index(name)

    @cached_property
    def last_rod(self) -> int:
        """Place of the rod that pulls the pallet."""
        before = self.train.parts[: self.index(self.pallet.name)]
        return max(i for i, part in enumerate(before) if part.role == "rod")

    @cached_property
    def outlet(self) -> tuple[str, str]:
        """From where that rod leads on."""
        named = self.train.structure[self.last_rod].after
        if named:
            return named
        last = [part.name for part in self.train.parts[: self.last_rod] if part.role in _BODIES][-1]
        return last, "out"

    @property
    def hangs(self) -> float:
        """What hangs on the pallet's eye at rest, N: a key without a balance, rods, levers."""
        if self.pressed is None:
            return 0.0
        links = self.pressed.kinematics.links
        rods = [links[i].element for i in self.pressed.kinematics.to(self.pallet.name) if links[i].kind == "rod"]
        return max(float(self.pressed.press.down[rods[-1].force][0]), 0.0) if rods else 0.0

    def called(self, name: str) -> str:
        """A name for a new part that no other has."""
        taken, free = {part.name for part in self.train.parts}, name
        while free in taken:
            free += "-2"
        return free

    def part(self, at: int, name: str = "", /, **changes: object) -> AnyPart:
        """The part at a place of the list with other values, hyphens of tables (`seat.area`) as two underscores."""
        kind, own, values, *after = self.given[at]
        new = {**values, **values_of(changes)}
        return (kind, name or own, new, *after)  # type: ignore[return-value]

    def built(self, parts: Sequence[AnyPart]) -> Train:
        """The train of these parts; errors as of `build_train`."""
        return build_train(parts, self.library)


def values_of(told: Mapping[str, object]) -> dict[str, Given]:
    """Values of a part by field, tables' fields after two underscores."""
    return {name.replace("__", "."): Given(value, _ORIGIN) for name, value in told.items()}  # type: ignore[arg-type]


def with_defaults(kind: str, told: Mapping[str, Given]) -> dict[str, Given]:
    """Values of a new part, with the defaults of the fields that are left out."""
    courses = {path: course for one in PARTS[kind].fields for path, course in defaults(one, "", (0,)).items()}
    return {**{path: course[0] for path, course in courses.items()}, **told}


def pluck_over(press: StaticPress) -> float:
    """Key travel at which the pluck of the first pallet is over, m; NaN where nothing plucks.

    Where the force has done nine tenths of its fall from the peak to the lowest behind it, at least 1 mm past the pluck
    point, at most half way to the bottom felt.
    """
    point, bottom = press.pluck_point, press.bottom_point
    end = bottom if np.isfinite(bottom) else float(press.down.travel[-1])
    if not point < end:
        return float("nan")
    axis = np.linspace(point, end, 801)
    force = press.down.force_at(axis)
    top = int(np.argmax(np.where(axis <= press.just_past(point), force, -np.inf)))
    level = force[top] - FALLEN * (force[top] - np.min(force[top:]))
    fallen = float(axis[top + int(np.argmax(force[top:] <= level))])
    return min(max(fallen, point + JUST_PAST), point + LATEST * (end - point))


def over_of(press: StaticPress, unopened: str) -> float:
    """The same; what plucks nothing is refused, `unopened` where that is because nothing opens.

    Raises
    ------
    NotBuilt
    """
    found = pluck_over(press)
    if math.isnan(found):
        shut = float(press.down["seat_gap"][0]) <= 0.0
        raise NotBuilt(unopened if shut else "the pallet that opens first would not shut under what hangs on it")
    return found


def passed_at(press: StaticPress, name: str, travel: float) -> float:
    """An observable of the way down where a finger that only goes on has come to a key travel."""
    down = press.down
    return float(np.interp(travel, down.travel[down.met], down[name][down.met]))
