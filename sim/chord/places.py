"""What stands where in the arrays of a chord: its notes one behind the other, then the boxes."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate

import numpy as np
from numpy.typing import NDArray

from keyaction.models.algebra.names import Name
from keyaction.models.train.train import Train
from keyaction.sim.code.kernel import Kernel
from keyaction.sim.motion.drives import Drive
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.wind.supplies import HEAT_RATIO, Supply

ACCOUNTS = 3
"""Works of the air: given by reservoirs, lost in trunks, lost in openings."""
HOLDS, FALLS, TRUNK = 0, 1, 2
"""A box that holds its pressure, one whose reservoir falls, one behind a trunk."""


@dataclass(frozen=True)
class Player:
    """One note of a chord.

    Attributes
    ----------
    name : str
        Its own among the notes of the chord.
    model : NoteModel
        Its train, coupled or not.
    drive : Drive
        What is done to its key, from the beginning of the chord on.
    boxes : mapping of str to str
        The boxes of its train by name, to the boxes of the chord that they are.
    """

    name: str
    model: NoteModel
    drive: Drive
    boxes: Mapping[str, str]


@dataclass(frozen=True)
class Groove:
    """A groove of a train: its part, its pallet's, its box's, and where its pressure stands among the states."""

    name: str
    pallet: str
    box: str
    state: int


def grooves_of(model: NoteModel) -> tuple[Groove, ...]:
    """The grooves of a train, in its order."""
    kernel, parts = model.kernel(), model.train.parts
    marked = np.zeros(len(kernel.states))
    pressures = kernel.of_kind("pressure")
    marked[pressures] = np.arange(1.0, len(pressures) + 1)
    still = np.zeros(kernel.drive_size)
    shown = kernel.observe(np.zeros(1), marked[None, :], model.parameters(), still)[0]
    found = []
    for i, part in enumerate(parts):
        if part.role != "groove":
            continue
        mark = shown[kernel.observables.index(kernel.seen_of(part.name, "groove_pressure"))]
        pallet = next(one.name for one in reversed(parts[:i]) if one.role == "pallet")
        box = next(one.name for one in parts[i:] if one.role == "box")
        found.append(Groove(part.name, pallet, box, pressures[round(float(mark)) - 1]))
    return tuple(found)


@dataclass(frozen=True)
class Places:
    """The arrays of a chord.

    Attributes
    ----------
    whole : tuple of int arrays
    air : tuple of float arrays
        As `keyaction.sim.chord.loop` reads them.
    parameters : (P,) array
        Of all notes, one behind the other.
    at : tuple of int
        Where the states of each note begin, and where those of the boxes do.
    size, wide : int
        Number of states; width of the band of slopes.
    kinds : tuple of str
        Of every state.
    scale : (n,) array
        Of every state, for difference quotients.
    names : tuple of str
        The boxes.
    """

    whole: tuple[NDArray[np.int64], ...]
    air: tuple[Floats, ...]
    parameters: Floats
    at: tuple[int, ...]
    size: int
    wide: int
    kinds: tuple[str, ...]
    scale: Floats
    names: tuple[str, ...]

    @property
    def boxes(self) -> int:
        return len(self.names)


_SCALES = {"coordinate": 1e-3, "speed": 1e-2, "slip": 0.1, "pressure": 10.0, "flow": 1e-3}
"""By which states are moved for a difference quotient; accounts move nothing."""


def places_of(players: Sequence[Player], supplies: Mapping[str, Supply]) -> Places:
    """The arrays of these notes and the boxes that they draw from."""
    kernels = [one.model.kernel(one.drive.rider) for one in players]
    names = tuple(dict.fromkeys(box for one in players for box in one.boxes.values()))
    at = _starts([len(kernel.states) for kernel in kernels])
    of_p = _starts([len(kernel.parameters) for kernel in kernels])
    of_d = _starts([kernel.drive_size for kernel in kernels])
    links, boxed, rows = list[int](), list[int](), list[tuple[float, ...]]()
    for i, (one, kernel) in enumerate(zip(players, kernels, strict=True)):
        for box, shared in one.boxes.items():
            links.append(of_p[i] + _parameter(kernel, box))
            boxed.append(names.index(shared))
        rows += [_groove(one, groove, at[i], names) for groove in grooves_of(one.model)]
    works = [at[i] + dict(kernel.accounts)["wind"] for i, kernel in enumerate(kernels)]
    state, of_box, *own = zip(*rows, strict=True)
    fed = [supplies[name] for name in names]
    whole = (at, of_p, of_d, links, boxed, works, state, of_box, [_kind(one) for one in fed])
    air = (*own, *zip(*map(_feeding, fed), strict=True))
    kinds = [kind for kernel in kernels for kind in kernel.kinds]
    kinds += ["pressure", "flow"] * len(names) + ["work"] * ACCOUNTS
    parameters = np.concatenate([one.model.parameters(one.drive.rider) for one in players])
    wide = max(*(len(kernel.states) for kernel in kernels), 2 * len(names) + ACCOUNTS) - 1
    scale = np.array([_SCALES.get(kind, 0.0) for kind in kinds])
    return Places(
        tuple(map(_ints, whole)),
        tuple(map(_floats, air)),
        parameters,
        tuple(at),
        len(kinds),
        wide,
        tuple(kinds),
        scale,
        names,
    )


def _starts(sizes: Sequence[int]) -> list[int]:
    return [0, *accumulate(sizes)]


def _ints(found: Sequence[float]) -> NDArray[np.int64]:
    return np.array(found, dtype=np.int64)


def _floats(found: Sequence[float]) -> Floats:
    return np.array(found, dtype=np.float64)


def _parameter(kernel: Kernel, box: str) -> int:
    """Where the pressure of a box stands among the parameters of a train.

    Raises
    ------
    ValueError
        If a drive may change it: it is not the chord's then.
    """
    name = Name(box, "p_box")
    if name in kernel.inputs:
        raise ValueError(f"'p_box' of {box} is taken from outside; in a chord the box's pressure is its supply's")
    return kernel.parameters.index(name)


def _groove(one: Player, groove: Groove, start: int, names: tuple[str, ...]) -> tuple[float, ...]:
    """State, box, capacity, opening, and the flow's constants of a groove."""
    train: Train = one.model.train
    still, density = train.value(groove.box, "p_atm"), train.value(groove.box, "rho_air")
    return (
        start + groove.state,
        names.index(one.boxes[groove.box]),
        train.value(groove.name, "V") / (HEAT_RATIO * still),
        train.value(groove.name, "A_out"),
        math.sqrt(2 / density),
        train.value(groove.box, "p_smooth"),
    )


def _feeding(one: Supply) -> tuple[float, ...]:
    """Capacity, inertance, pressure, fall and resistance; what a box does not have is 1 or nothing."""
    trunk = math.isfinite(one.area)
    capacity = 1.0 if one.holds else one.capacity
    return capacity, one.inertance if trunk else 1.0, one.pressure, one.fall, one.resistance if trunk else 0.0


def _kind(one: Supply) -> int:
    return HOLDS if one.holds else TRUNK if math.isfinite(one.area) else FALLS
