"""Materials of rods and members chosen so that what they do to the run cancels: closed forms, every choice tried."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from keyaction.sim.motion.integrate import Floats

SAME = 1e-12
"""Strain below which two materials do the same: rounding."""
RODS = "rods"
"""The group of all rods of the run that are exchanged together."""


@dataclass(frozen=True)
class Piece:
    """A rod or a member of the run.

    Attributes
    ----------
    name : str
    gains : (N,) array
        By note: how much tighter the run is drawn, counted at the key, m, as the piece grows by its own length.
    moisture : (D,) array
        Moisture content that it has, or as wood in its place would have.
    material : str
        As it is made.
    grain : str
        How a wood's grain lies in it, or would: "along", "radial" or "tangential".
    """

    name: str
    gains: Floats
    moisture: Floats
    material: str
    grain: str = "along"


@dataclass(frozen=True)
class Group:
    """Pieces that are exchanged together.

    Attributes
    ----------
    name : str
        `RODS`, or the member.
    pieces : tuple of Piece
    candidates : tuple of str
        Materials that are tried; none of what stays as it is.
    """

    name: str
    pieces: tuple[Piece, ...]
    candidates: tuple[str, ...] = ()


Strain = Callable[[str, str, Floats], Floats]
"""Strain (D,) of a material by name, with its grain, at a moisture content (D,), against the day of regulation."""


@dataclass(frozen=True)
class Choice:
    """Materials in place of others, and what they leave.

    Attributes
    ----------
    changes : tuple of (str, str)
        Group and its new material; empty of the run as it is.
    alike : tuple of str
        Materials that do the same as the last of `changes`.
    worst, mean : float
        Range over the year, m at the key, of the path of the note that moves most, and of the mean of all notes.
    note : int
        Number of that note.
    """

    changes: tuple[tuple[str, str], ...]
    alike: tuple[str, ...]
    worst: float
    mean: float
    note: int


@dataclass(frozen=True)
class Search:
    """The run as it is, the best single exchange, and the best two together.

    Attributes
    ----------
    as_is, single, pair : Choice
    tried : int
        Choices that were tried, materials that do the same counted once.
    """

    as_is: Choice
    single: Choice
    pair: Choice
    tried: int

    @property
    def best(self) -> Choice:
        """What leaves least: of alike ones that with fewer exchanges."""
        return min((self.as_is, self.single, self.pair), key=lambda one: (round(one.worst, 9), len(one.changes)))


def search(groups: Sequence[Group], strain: Strain) -> Search:
    """Try every material for every group, one at a time and two at a time.

    Parameters
    ----------
    groups : sequence of Group
    strain : Strain
        What cannot be computed (a property that is not known) is NaN and is not chosen.

    Returns
    -------
    Search
        Judged by the range over the year of the note that moves most. Changes of length are small, so that those of
        all pieces add up.
    """
    made = {one.name: moves(one, strain) for one in groups}
    whole = np.sum([*made.values()], axis=0)
    as_is = _choice((), (), whole)
    options = {one.name: _options(one, strain) for one in groups}
    single = pair = as_is
    tried = 1
    for one in groups:
        rest = whole - made[one.name]
        for names, own in options[one.name]:
            tried += 1
            single = _better(single, _choice(((one.name, names[0]),), names[1:], rest + own))
    for one, other in combinations(groups, 2):
        rest = whole - made[one.name] - made[other.name]
        for names, own in options[one.name]:
            for others, more in options[other.name]:
                tried += 1
                changes = ((one.name, names[0]), (other.name, others[0]))
                pair = _better(pair, _choice(changes, others[1:], rest + own + more))
    return Search(as_is, single, pair, tried)


def moves(group: Group, strain: Strain, material: str = "") -> Floats:
    """What a group does to the run of every note, (N, D), m at the key: as it is made, or all of one material."""
    parts = [np.outer(one.gains, strain(material or one.material, one.grain, one.moisture)) for one in group.pieces]
    return np.asarray(np.sum(parts, axis=0))


def _options(group: Group, strain: Strain) -> list[tuple[list[str], Floats]]:
    """Materials other than its own by what they do; those that do the same stand together."""
    found: list[tuple[list[str], Floats]] = []
    reach = max((float(np.max(np.abs(one.gains), initial=0.0)) for one in group.pieces), default=0.0)
    for name in group.candidates:
        made = moves(group, strain, name)
        if all(one.material == name for one in group.pieces) or not np.all(np.isfinite(made)):
            continue
        same = next((names for names, known in found if np.all(np.abs(known - made) <= SAME * reach)), None)
        if same is None:
            found.append(([name], made))
        else:
            same.append(name)
    return found


def _choice(changes: tuple[tuple[str, str], ...], alike: Sequence[str], path: Floats) -> Choice:
    ranges = np.ptp(path, axis=1)
    note = int(np.argmax(ranges))
    return Choice(changes, tuple(alike), float(ranges[note]), float(np.ptp(path.mean(axis=0))), note)


def _better(one: Choice, other: Choice) -> Choice:
    """The other if it leaves less by more than rounding."""
    return other if other.worst < one.worst * (1 - 1e-9) else one
