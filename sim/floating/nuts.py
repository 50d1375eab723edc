"""Nuts set with the rail at its centre, so that the rods of every note hold their share of its load."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from keyaction.models.frame.rail import Rail
from keyaction.models.train.train import Train
from keyaction.sim.floating.places import Hold
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.tightening.tightness import Tightness, stretched, tightness

STEP = 0.05e-3
"""m of stretch between two resting states that are known."""
REACH = (-0.5e-3, 4e-3)
"""m by which a nut is turned at most: looser, tighter."""


class NutsProblem(ValueError):
    """Notes that cannot hold their share of the load: `notes` names them."""

    def __init__(self, notes: Sequence[str], told: str) -> None:
        self.notes = tuple(notes)
        super().__init__(f"{', '.join(notes)}: {told}")


def with_nuts_set(
    trains: Mapping[str, Train],
    holds: Mapping[str, Sequence[Hold]],
    rail: Rail,
    shares: Mapping[str, float] | None = None,
) -> dict[str, Train]:
    """The trains, the last rod that the rail joins in each drawn so tight that all hold the load with it at its centre.

    Parameters
    ----------
    trains : mapping of str to Train
    holds : mapping of str to sequence of Hold
        Of each note.
    rail : Rail
    shares : mapping of str to float, optional
        What each holds of the load, N; by default all alike.

    Raises
    ------
    NutsProblem
        If a note's pallet would open before its rods hold their share.
    """
    each = shares or dict.fromkeys(trains, rail.load / len(trains))
    numbers = dict(enumerate(trains))
    stretch = np.arange(REACH[0], REACH[1] + STEP / 2, STEP)
    found = tightness(
        {i: trains[name] for i, name in numbers.items()},
        {i: holds[name][-1].rod for i, name in numbers.items()},
        dict.fromkeys(numbers, 1.0),
        stretch,
    )
    turned = {name: _turned(found[i], holds[name], each[name]) for i, name in numbers.items()}
    lacking = [name for name, by in turned.items() if np.isnan(by)]
    if lacking:
        raise NutsProblem(lacking, "the pallet opens before the rods hold their share of the rail's load")
    return {name: stretched(train, holds[name][-1].rod, turned[name]) for name, train in trains.items()}


def held(one: Tightness, holds: Sequence[Hold]) -> Floats:
    """What a note's rods hold of the rail's load at every stretch, (K,), N."""
    return np.asarray(sum(hold.tighter * one.pulls[hold.rod] for hold in holds))


def _turned(one: Tightness, holds: Sequence[Hold], share: float) -> float:
    """Stretch at which it holds its share, m; NaN where its pallet opens first."""
    pulls, shut = held(one, holds), (one.gap < 0.0) & one.settled
    reached = np.flatnonzero(shut & (pulls >= share))
    if not len(reached):
        return float("nan")
    i = int(reached[0])
    if i == 0:
        return float(one.stretch[0])
    part = (share - pulls[i - 1]) / (pulls[i] - pulls[i - 1])
    return float(one.stretch[i - 1] + part * (one.stretch[i] - one.stretch[i - 1]))
