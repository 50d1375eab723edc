"""A pallet made shorter or longer: what of its sizes follows its length, and what its opening then passes.

Hinge, width, thickness and cover stay, and so do the spring's force and rate. Eye and spring keep their places as long
as both lie on the wood; else both go back in proportion to the pallet's length. Its felt goes with its face, a measured
mass with its length, a measured inertia with the cube of it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from keyaction.models.fields.values import Given, Values
from keyaction.models.parts.geometry import pallet_end
from keyaction.models.train.remade import remade
from keyaction.models.train.train import Train, TrainPart
from keyaction.sim.wind.stops import groove_of

_ORIGIN = "pallet made as long as this question asks"
MOST = 1.0
"""m: the longest opening that a case may have."""


@dataclass(frozen=True)
class Passed:
    """What an opening passes with its pallet open.

    Attributes
    ----------
    slot, gap : float
        Area of the opening, and of the gap under the pallet, m2, without flow coefficients.
    inlet : float
        Both in series with their flow coefficient, m2.
    """

    slot: float
    gap: float
    inlet: float


@dataclass(frozen=True)
class Shape:
    """The pallet of a note as it is drawn, with the parts that follow it."""

    train: Train

    @property
    def pallet(self) -> TrainPart:
        return self.train.role("pallet")

    @property
    def spring(self) -> TrainPart:
        return self.train.role("spring")

    @property
    def groove(self) -> TrainPart:
        return groove_of(self.train)

    @property
    def length(self) -> float:
        """Of the opening, m."""
        return self.pallet.values.number("opening_length")

    @property
    def width(self) -> float:
        """Of the opening, m."""
        return self.pallet.values.number("opening_width")

    @property
    def end(self) -> float:
        """From the hinge to the pallet's free end, m."""
        values = self.pallet.values
        whole = pallet_end(values)
        return values.number("hinge_to_opening") + self.length if whole is None else whole

    @property
    def shortest(self) -> float:
        """Opening that is as long as it is wide, m: no shorter one can be."""
        return self.width

    @property
    def shortest_kept(self) -> float:
        """Shortest opening at which eye and spring keep their places, m."""
        furthest = max(self.pallet.values.number("eye"), self._spring_at)
        return max(self.length - (self.end - furthest), self.shortest)

    @property
    def longest(self) -> float:
        """Longest opening that there could be, m: as long as the groove, where that is known."""
        values = self.groove.values
        return min(values.number("length"), MOST) if values.has("length") else MOST

    @property
    def _spring_at(self) -> float:
        values = self.spring.values
        return values.number("at") if values.has("at") else 0.0

    def moved(self, length: float) -> float:
        """By what eye and spring go back with an opening of that length (m): 1 where they keep their places."""
        end = self.end + length - self.length
        return 1.0 if length >= self.shortest_kept * (1 - 1e-12) else end / self.end

    def changes(self, length: float) -> dict[str, dict[str, Given]]:
        """Fields of pallet and spring with an opening of that length (m)."""
        back, end = self.moved(length), self.end + length - self.length
        given, spring = self.pallet.values.given, self.spring.values.given
        told = {"opening_length": length, "eye": back * self.pallet.values.number("eye")}
        for field, scale in (
            ("seat.area", self._face(length) / self._face(self.length)),
            ("mass", end / self.end),
            ("inertia", (end / self.end) ** 3),
            ("stop.at", back),
        ):
            if field in given:
                told[field] = scale * float(given[field].value)
        other = {"at": back * float(spring["at"].value)} if "at" in spring and back < 1.0 else {}
        return {self.pallet.name: _given(told), self.spring.name: _given(other)}

    def _face(self, length: float) -> float:
        values = self.pallet.values
        over = 2 * values.number("overlap") if values.has("overlap") else 0.0
        return (length + over) * (self.width + over)

    def train_of(self, length: float) -> Train:
        """The train with an opening of that length (m)."""
        return remade(self.train, self.changes(length))

    def passed(self, length: float, travel: float) -> Passed:
        """What an opening of that length (m) passes with the pallet's eye pulled by `travel` (m) from rest."""
        pallet, spring = (
            _resolved(part, {**part.values.given, **self.changes(length)[part.name]})
            for part in (self.pallet, self.spring)
        )
        companions = {"spring": spring, "box": self.train.role("box").values}
        self.pallet.part.settle(pallet, companions)
        return passed(pallet, travel, self.groove.figure("Cd"))


def _given(told: Mapping[str, float]) -> dict[str, Given]:
    return {field: Given(value, _ORIGIN) for field, value in told.items()}


def _resolved(part: TrainPart, given: Mapping[str, Given]) -> Values:
    values = Values(part.name, given, part.values.library)
    part.part.resolve(values)
    return values


def passed(pallet: Values, travel: float, flow: float) -> Passed:
    """What a pallet whose eye is pulled by `travel` (m) from rest lets through, at a flow coefficient of its gap."""
    figure = {name: pallet.derived[name].value for name in ("r_eye", "q_open", "gap", "A_leak", "A_slot")}
    turn = max(travel / figure["r_eye"] - figure["q_open"], 0.0)
    gap, slot = figure["A_leak"] + turn * figure["gap"], figure["A_slot"]
    return Passed(slot, gap, flow * gap * slot / math.hypot(gap, slot))
