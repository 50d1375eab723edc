"""Rods drawn up too tight (negative lost motion): whether the seat still shuts, by levers alone."""

from __future__ import annotations

from dataclasses import dataclass

from keyaction.models.train.train import Train, TrainPart
from keyaction.sim.figures.sketch import Rigid, rigid


@dataclass(frozen=True)
class Tightness:
    """How much the rods are drawn up, and how much the train takes up before the pallet leaves its seat.

    Both as way at the pallet's eye, m.
    """

    drawn: float
    taken: float

    @property
    def unseats(self) -> bool:
        """Whether the pallet stands off its seat at rest."""
        return self.drawn > self.taken


def tightness(train: Train) -> Tightness | None:
    """Of a train with a rod of negative lost motion; None where there is none, or no felt for the key to sink into.

    The pull that undoes the seat is that of wind, spring and pallet; under it rods and shafts stretch and twist, the
    key sinks into its rest felt, and the seat gives its squeeze. Arms square, no friction, no weights of rods.
    """
    rods = [part for part in train.parts if part.role == "rod" and "slack" in part.values.derived]
    if not any(part.figure("slack") < 0 for part in rods) or "K_rest" not in train.key.values.derived:
        return None
    found, pallet = rigid(train), train.role("pallet")
    pull = pallet.figure("wind_at_eye") + pallet.figure("closing_no_wind")
    taken = pallet.figure("q_open") * pallet.figure("r_eye") + _sinks(train.key, found, pull)
    drawn = 0.0
    for part in rods:
        ratio = found.last / (found.way(part.name) or found.last)
        drawn -= part.figure("slack") * ratio
        taken += pull * ratio**2 * _compliance(part)
    for part in train.parts:
        if (part.name, "in") in found.turns and "K" in part.values.derived:
            taken += pull * (found.last / found.turns[part.name, "in"]) ** 2 / part.figure("K")
    return Tightness(drawn, taken)


def _compliance(rod: TrainPart) -> float:
    """Give of a whole rod or one in pieces, with its ends and what it hooks onto, m/N."""
    if "k_piece" not in rod.values.derived:
        return 1 / rod.figure("k")
    pieces = rod.values.number("pieces")
    return 1 / rod.figure("k") + 1 / rod.figure("k_far") + (pieces - 1) / rod.figure("k_piece")


def _sinks(key: TrainPart, found: Rigid, pull: float) -> float:
    """Way at the eye that the key gives by sinking into its rest felt under a pull (N) at the eye."""
    front, place = key.figure("r_front"), key.figure("r_rest")
    load = max(pull * found.last * front - key.figure("B"), 0.0) / place
    squeeze = (load / key.figure("K_rest")) ** (2 / 3)
    return float((squeeze - key.figure("x0_rest")) / place * front * found.last)
