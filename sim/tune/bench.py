"""The bench of the tuner: notes with other springs and other parts, and their figures in lanes."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from keyaction.cases.action.case import Case, PartSpec
from keyaction.models.fields.values import Given
from keyaction.models.train.given import AnyPart
from keyaction.models.train.train import Train, build_train
from keyaction.sim.lanes.evaluate import evaluate
from keyaction.sim.motion.integrate import Floats

Changes = Mapping[tuple[str, str], float]
"""Part's role and field to the value (SI) that takes the place of the case's."""


@dataclass(frozen=True)
class Design:
    """A note with a spring of `force` (N, pallet closed) and perhaps other fields changed."""

    note: int
    force: float
    changes: Changes = field(default_factory=dict)

    @property
    def all_changes(self) -> Changes:
        """The changed fields, the spring's among them."""
        return {("spring", "force"): self.force, **self.changes}


@dataclass(frozen=True)
class Bench:
    """Builds and evaluates designs of a case; `jobs` threads, 0 for one per core."""

    case: Case
    jobs: int = 0

    def part(self, role: str) -> PartSpec:
        """The first part of that role."""
        return next(part for part in self.case.parts if part.part.role == role)

    def given(self, note: int, role: str, name: str) -> float:
        """A field as the case has it, SI; NaN where it does not."""
        one = self.part(role).fields.get(name, {}).get(note)
        return math.nan if one is None else float(one.value)

    def train(self, design: Design) -> Train:
        """The train of a design."""
        return build_of(self.case, design.note, design.all_changes)

    def figures(self, designs: Sequence[Design], wanted: Sequence[str]) -> tuple[list[Train], dict[str, Floats]]:
        """Trains of the designs, and their quantities by name."""
        trains = [self.train(design) for design in designs]
        return trains, self.quantities(trains, wanted)

    def quantities(self, trains: Sequence[Train], wanted: Sequence[str]) -> dict[str, Floats]:
        """Quantities of trains by name, in lanes; a note that does not speak has no release either."""
        names = list(wanted)
        if "release_delay" in names:
            names.append("opening_time")
        with np.errstate(all="ignore"):
            found = dict(evaluate(trains, self.case.strokes, names, self.jobs, sample=0, decide=False).quantities)
        if "release_delay" in names:
            found["release_delay"] = np.where(np.isfinite(found["opening_time"]), found["release_delay"], np.nan)
        return found


def parts_of(case: Case, note: int, changes: Changes) -> tuple[AnyPart, ...]:
    """Kind, name and values of a note's parts, with some fields changed."""
    parts = []
    for part in case.parts:
        values = case.values(note, part)
        values |= {name: Given(value, "tuned") for (role, name), value in changes.items() if role == part.part.role}
        parts.append(part.given(values))
    return tuple(parts)


def build_of(case: Case, note: int, changes: Changes) -> Train:
    """A note's train with some fields changed."""
    return build_train(parts_of(case, note, changes), case.library)


def closing_force(train: Train, margin: float) -> float:
    """Spring force (N, pallet closed) that leaves a closing margin (N at the eye) at zero wind."""
    pallet = train.role("pallet").values.derived
    at = train.role("spring").values.number("at")
    return (margin * pallet["r_eye"].value + pallet["B"].value + pallet["tau0"].value) / at


def opening_over_toes(train: Train, lift: float) -> float:
    """Full opening of the pallet over the toe area of the drawn stops, at a lift (m) of the eye above the seat.

    Gap and slot one behind the other, as in the equations; infinite where no stop is drawn.
    """
    pallet, feet = train.role("pallet").values.derived, train.role("groove").values.derived["feet"].value
    turn = lift / pallet["r_eye"].value
    gap, slot = turn * pallet["gap"].value, pallet["A_slot"].value
    opening = gap * slot / math.hypot(gap, slot)
    return opening / feet if feet > 0 else math.inf
