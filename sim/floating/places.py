"""What stands where in the arrays of notes on a rail: the notes one behind the other, then the rail."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate

import numpy as np
from numpy.typing import NDArray

from keyaction.models.algebra.names import Name
from keyaction.models.frame.changes import RunRod, shift_of
from keyaction.models.frame.member import VECTORS
from keyaction.models.frame.rail import Rail
from keyaction.models.instrument.place import Point
from keyaction.models.parts.rail_levers import ACCOUNT, HOLD, PLACE, SPEED
from keyaction.models.train.on_rail import on_rail
from keyaction.models.train.train import Train
from keyaction.sim.floating.loop import FRICTION
from keyaction.sim.motion.drives import Drive
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import NoteModel

ACCOUNTS = 3
"""Works of the rail: given by its load, lost in the guides' friction, lost in their damping."""
REACH = 1e-5
"""m within which the rail's guides give before they slip (assumed, half of what guides of rods have)."""
LAG = 5e-3
"""s: damping of that give, as its force per rate of slip (assumed: five times a pin's, for what is so much heavier)."""
SCALES = {"coordinate": 1e-3, "speed": 1e-2, "slip": 0.1, "pressure": 10.0}
"""By which states are moved for a difference quotient; accounts and impulses move nothing."""


@dataclass(frozen=True)
class Hold:
    """A rod at a lever of the rail.

    Attributes
    ----------
    lever, rod : str
    end : str
        The arm that it hooks onto: ``in`` or ``out``.
    tighter : float
        How much the rail draws it tighter per way, m/m.
    """

    lever: str
    rod: str
    end: str
    tighter: float

    @property
    def share(self) -> float:
        """Way of the arm's end in the playing direction per way of the rail."""
        return -self.tighter if self.end == "in" else self.tighter


def holds_of(rods: Sequence[RunRod], rail: Rail) -> tuple[Hold, ...]:
    """The rods of a note that its levers on the rail join, and what the rail does to each."""
    x, y, z = VECTORS[rail.towards]
    towards: Point = (x, y, z)
    found = []
    for lever in rail.carries:
        before = next((rod for rod in rods if rod.behind == lever), None)
        behind = next((rod for rod in rods if rod.before == lever), None)
        near, far = shift_of(towards, before, behind)
        found += [Hold(lever, before.name, "in", near)] if before else []
        found += [Hold(lever, behind.name, "out", far)] if behind else []
    return tuple(found)


def seated(train: Train, holds: Sequence[Hold]) -> Train:
    """The train with its levers on the rail."""
    ways = {(one.lever, one.end): one.share for one in holds}
    levers = dict.fromkeys(one.lever for one in holds)
    return on_rail(train, {lever: (ways.get((lever, "in"), 0.0), ways.get((lever, "out"), 0.0)) for lever in levers})


@dataclass(frozen=True)
class OnRail:
    """One note on the rail.

    Attributes
    ----------
    name : str
    model : NoteModel
        Its train with the levers on the rail (`seated`).
    holds : tuple of Hold
    drive : Drive
        What is done to its key; of a quiet note nothing.
    """

    name: str
    model: NoteModel
    holds: tuple[Hold, ...]
    drive: Drive

    @property
    def levers(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(one.lever for one in self.holds))


@dataclass(frozen=True)
class Places:
    """The arrays of notes and rail.

    Attributes
    ----------
    whole : tuple of int arrays
    body : tuple of float arrays
        As `keyaction.sim.floating.loop` reads them.
    parameters : (P,) array
        Of all notes, one behind the other.
    at : tuple of int
        Where the states of each note begin, and where the rail's do.
    size, wide : int
        Number of states; width of the band of slopes.
    kinds : tuple of str
    scale : (n,) array
        Of every state, for difference quotients.
    """

    whole: tuple[NDArray[np.int64], ...]
    body: tuple[Floats, ...]
    parameters: Floats
    at: tuple[int, ...]
    size: int
    wide: int
    kinds: tuple[str, ...]
    scale: Floats


def places_of(notes: Sequence[OnRail], rail: Rail) -> Places:
    """The arrays of these notes on that rail."""
    kernels = [one.model.kernel() for one in notes]
    at = _starts([len(kernel.states) for kernel in kernels])
    of_p = _starts([len(kernel.parameters) for kernel in kernels])
    of_d = _starts([kernel.drive_size for kernel in kernels])
    levers, ends, rods = list[tuple[float, ...]](), [0], list[tuple[float, ...]]()
    for i, (one, kernel) in enumerate(zip(notes, kernels, strict=True)):
        for lever in one.levers:
            asked = (kernel.parameters.index(Name(lever, what)) for what in (PLACE, SPEED))
            own = (kernel.owners.index((lever, what)) for what in ("q", "v", HOLD))
            work = dict(kernel.accounts)[ACCOUNT]
            numbers = (*(of_p[i] + n for n in asked), *(at[i] + n for n in own), at[i] + work)
            levers.append((*numbers, one.model.train.value(lever, "J")))
            rods += [_end(one.model.train, hold) for hold in one.holds if hold.lever == lever]
            ends.append(len(rods))
    *numbers_of, inertia = zip(*levers, strict=True)
    kinds = [kind for kernel in kernels for kind in kernel.kinds]
    kinds += ["coordinate", "speed", "slip"] + ["work"] * ACCOUNTS
    return Places(
        tuple(np.array(found, dtype=np.int64) for found in (at, of_p, of_d, *numbers_of, ends)),
        (
            figures(rail),
            *map(_floats, (inertia, np.zeros(2 * len(levers)), *zip(*rods, strict=True))),
        ),
        np.concatenate([one.model.parameters() for one in notes]),
        tuple(at),
        len(kinds),
        max(*(len(kernel.states) for kernel in kernels), 3 + ACCOUNTS) - 1,
        tuple(kinds),
        np.array([SCALES.get(kind, 0.0) for kind in kinds]),
    )


def figures(rail: Rail) -> Floats:
    """The rail's figures as the loop reads them; one that is made fast is too heavy to move."""
    mass = math.inf if rail.fixed else rail.mass
    own = (rail.load, rail.rate, rail.ahead, rail.behind, rail.stop_stiffness, rail.damping, rail.friction)
    return np.array([mass, *own, REACH, LAG])


def without_friction(places: Places) -> Places:
    """The same arrays with guides of the rail that do not rub."""
    rail = places.body[0].copy()
    rail[FRICTION] = 0.0
    return replace(places, body=(rail, *places.body[1:]))


def _end(train: Train, hold: Hold) -> tuple[float, float, float, float]:
    """Arm, angle, share and mass of a rod's end: half the rod's, nothing of one whose mass lies in pieces along it."""
    whole = Name(hold.rod, "k_piece") not in train.parameters
    arm, angle = (train.value(hold.lever, f"{what}_{hold.end}") for what in ("r", "delta"))
    return arm, angle, hold.share, train.value(hold.rod, "m") / 2 if whole else 0.0


def _starts(sizes: Sequence[int]) -> list[int]:
    return [0, *accumulate(sizes)]


def _floats(found: Iterable[float]) -> Floats:
    return np.fromiter(found, dtype=np.float64)
