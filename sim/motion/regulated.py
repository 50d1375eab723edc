"""Couplers regulated as a builder does it: their play counts from the key that they move, where it rests."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from keyaction.models.algebra.names import Name
from keyaction.models.parts.couplers import AT_REST, GIVE, UNSET
from keyaction.models.train.train import Train

if TYPE_CHECKING:
    from keyaction.sim.code.kernel import Kernel
    from keyaction.sim.motion.integrate import Floats

FAR = 1.0
"""m: a play with which no coupler drives."""


def couplers_unset(train: Train) -> list[str]:
    """The couplers of a train whose place at rest is not known yet."""
    couplers = [part.name for part in train.parts if part.role == "coupler"]
    return [name for name in couplers if train.parameters[Name(name, AT_REST)].origin == UNSET]


def apart(train: Train) -> Train:
    """The train with no coupler driving and no other hand on its keys: as it is when the couplers are set."""
    for name in train.parameters:
        if name.what == "play" and train.part(name.part).role == "coupler":
            train = train.with_parameter(name, FAR, "no coupler drives")
        elif name.what == "f_held":
            train = train.with_parameter(name, 0.0, "no other hand")
        elif name.what == AT_REST:
            train = train.with_parameter(name, 0.0, "no coupler drives")
    return train


def held_by_hand(train: Train) -> bool:
    """Whether another hand holds a key of the train."""
    return any(name.what == "f_held" and one.value > 0.0 for name, one in train.parameters.items())


def regulated(train: Train, kernel: Kernel, rest: Floats, parameters: Floats, drive: Floats) -> Train:
    """The train with the gap of each coupler at rest equal to its play.

    Parameters
    ----------
    train : Train
    kernel : Kernel
    rest : (n,) array
        The state in which the train `apart` rests.
    parameters, drive : arrays
        That it rests with.
    """
    seen = kernel.observe(np.zeros(1), rest[None, :], parameters, drive)[0]
    for coupler in couplers_unset(train):
        stretch = seen[kernel.observables.index(kernel.element(coupler, GIVE).stretch)]
        sunk = -(float(stretch) + FAR)
        train = train.with_parameter(Name(coupler, AT_REST), sunk, "where the driven key rests")
    return train
