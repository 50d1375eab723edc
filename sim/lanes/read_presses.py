"""Figures and verdicts of many designs from what was read off their slow presses, without a train for each of them."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from keyaction.models.algebra.names import FINGER, Name
from keyaction.models.train.structure import TURN_LIMIT, Structure
from keyaction.sim.code.kernel import Kernel, load_kernel
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.limits import NO_FORCE, NOTHING, TAKEN_UP
from keyaction.sim.figures.modes import LOADED
from keyaction.sim.figures.play import unpressed
from keyaction.sim.figures.registry import UNPLAYED
from keyaction.sim.figures.verdict import FATES, Fate, Standing, Verdict, fates, judged, plain, rubbing
from keyaction.sim.lanes.train_frequencies import drives_of_many, train_frequencies
from keyaction.sim.motion.drives import Drive, Piece
from keyaction.sim.motion.integrate import SHORTER, Floats, turned_too_far
from keyaction.sim.statics import reading
from keyaction.sim.statics.balance import TooFar
from keyaction.sim.statics.bushings import Bushings
from keyaction.sim.statics.kinematics import kinematics, kinematics_of_many
from keyaction.sim.statics.press import STIFFNESS

Places = NDArray[np.int64]
NAMES = tuple(name for name, one in QUANTITIES.items() if one.source in UNPLAYED)
"""Quantities that are read here."""
_ONCE = ("key", "pallet", "spring", "groove", "box")
"""Roles of which a train has one part where it is read here."""


def supported(structure: Structure) -> bool:
    """Whether presses of such trains are read here: those of one key with one pallet."""
    roles = [member.part.role for member in structure]
    return "coupler" not in roles and all(roles.count(role) == 1 for role in _ONCE)


@dataclass(frozen=True)
class Verdicts:
    """Verdicts of many designs.

    Attributes
    ----------
    fates : (N,) array
        Places in `keyaction.sim.figures.verdict.FATES`; ``UNKNOWN`` for a design that was not pressed, or turned too
        far.
    reasons : mapping of int to str
        Of those that have one.
    """

    fates: NDArray[np.int64]
    reasons: Mapping[int, str]

    def one(self, i: int) -> Verdict:
        """The verdict of a design."""
        return Verdict(FATES[self.fates[i]], self.reasons.get(i, ""))

    def all(self) -> list[Verdict]:
        """The verdicts in order; those without a reason share theirs."""
        bare = [Verdict(fate) for fate in FATES]
        found = [bare[fate] for fate in self.fates.tolist()]
        for i in self.reasons:
            found[i] = self.one(i)
        return found


@dataclass(frozen=True)
class PressReader:
    """What is read from slow presses of designs of one structure.

    Rows of `parameters` are in the order of ``load_kernel(structure).parameters``; rows of `out` are what
    `keyaction.sim.statics.reading.read_press` fills in.

    Parameters
    ----------
    structure : Structure
        One that is `supported`.
    stiffness : float
        Of the finger that presses, N/m.
    """

    structure: Structure
    stiffness: float = STIFFNESS
    kernel: Kernel = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "kernel", load_kernel(self.structure))

    # -- what the loops are given ----------------------------------------------------------------------
    @cached_property
    def columns(self) -> Places:
        """Places of what is read among the observables."""
        kernel, geometry = self.kernel, kinematics(self.structure)
        key, pallet = self._part("key"), self._part("pallet")
        links = [geometry.links[i] for i in geometry.to(pallet)]
        rods = [link.element.force for link in links if link.kind == "rod"]
        stages = self._stages()
        read = ["key_travel", "key_force", "seat_gap", "pallet_lift", "groove_pressure", "energy",
                kernel.element(FINGER).stretch, kernel.element(key, "bottom").stretch]  # fmt: skip
        first, *listed = ([kernel.observables.index(name) for name in names] for names in (read, rods, stages))
        counts = [len(rods), len(stages), len(kernel.bodies)]
        return np.array([*first, *counts, *listed[0], *listed[1]], dtype=np.int64)

    def given(self, rest_travel: Floats) -> Floats:
        """What is known of each design, (N, m), from the key's travel at rest (N,) in m."""
        same = np.array([0.0, self.stiffness, TAKEN_UP, LOADED])
        found = np.tile(same, (len(rest_travel), 1))
        found[:, reading.REST] = rest_travel
        return found

    @property
    def width(self) -> int:
        """Length of a row of `out`."""
        return reading.READ + 2 * len(self.kernel.bodies) + 2 * len(self.kernel.states)

    def _part(self, role: str) -> str:
        return next(member.name for member in self.structure if member.part.role == role)

    def _stages(self) -> list[str]:
        found = []
        for member in self.structure:
            for place, _ in member.part.stages:
                at = [one.stretch for one in self.kernel.elements if (one.part, one.place) == (member.name, place)]
                found.append(at[0] if at else self.kernel.seen_of(member.name, place))
        return found

    # -- what is made of what they fill in -------------------------------------------------------------
    @staticmethod
    def _read(out: Floats) -> dict[str, Floats]:
        return dict(zip(reading.FIGURES, out.T, strict=False))

    def _columns(self, out: Floats, which: str) -> Floats:
        """The part of `out` behind the figures: ``widest``, ``rest``, ``loaded`` or ``left``."""
        bodies, states = len(self.kernel.bodies), len(self.kernel.states)
        sizes = {"widest": bodies, "rest": bodies, "loaded": states, "left": states}
        first = reading.READ
        for name, size in sizes.items():
            if name == which:
                return out[:, first : first + size]
            first += size
        raise KeyError(which)

    def figures(
        self,
        out: Floats,
        parameters: Floats,
        derived: Mapping[str, Floats],
        names: Collection[str] = NAMES,
        jobs: int = 0,
    ) -> dict[str, Floats]:
        """Quantities of a slow press and of the train, (N,) each by name, SI.

        Parameters
        ----------
        out, parameters : (N, m) and (N, np) arrays
        derived : mapping of name to (N,) array
            What is read from the parts themselves: ``closing_force``, N, and ``wave_time``, s, if they are asked for.
        names : collection of str
            Of `NAMES`; all by default.
        jobs : int
            Threads; 0 means one per core.

        Returns
        -------
        dict
            NaN where a design has none, and all of a design that was not pressed or turned too far.
        """
        read, box = self._read(out), self.box(parameters)
        failed = np.isnan(read["key_dip"]) | self.turned(out)
        loaded = np.where(failed[:, None], np.nan, self._columns(out, "loaded"))

        made: dict[str, Callable[[], Floats]] = {
            "pluck_ratio": lambda: _ratio(read["pluck_force"], read["follow_through_force"]),
            "groove_share": lambda: _share(read["held_pressure"], box),
            "effective_mass": lambda: self._masses(out, parameters),
            "train_frequency": lambda: train_frequencies(self.structure, parameters, loaded, jobs),
        }
        with np.errstate(divide="ignore", invalid="ignore"):
            found = {name: made[name]() if name in made else {**derived, **read}[name] for name in names}
        return {name: np.where(failed, np.nan, values) for name, values in found.items()}

    def box(self, parameters: Floats) -> Floats:
        """Pressure of the pallet box of each design, Pa."""
        return np.asarray(parameters[:, self.kernel.parameters.index(Name(self._part("box"), "p_box"))])

    def _masses(self, out: Floats, parameters: Floats) -> Floats:
        """Inertia of each design's whole train referred to the key front at rest, kg; summed in train order."""
        geometry = kinematics_of_many(self.structure)
        q, p = self._columns(out, "rest").T, parameters.T
        each = dict(zip(geometry.owners, 2 * geometry.masses(q, geometry.ratios(q, p), p), strict=True))
        return np.asarray(sum(each[member.name] for member in self.structure if member.name in each))

    # -- verdicts --------------------------------------------------------------------------------------
    def turned(self, out: Floats) -> NDArray[np.bool_]:
        """Which designs turn a body further than the equations hold."""
        turning = np.array([body.unit == "rad" for body in self.kernel.bodies])
        return np.asarray(np.any(self._columns(out, "widest")[:, turning] > TURN_LIMIT, axis=1))

    def turned_words(self, out: Floats, i: int) -> str:
        """Why a design that turned too far has no figures."""
        far = turned_too_far(self.kernel, self._columns(out, "widest")[i])
        return str(unpressed(TooFar(f"{far}; {SHORTER}"))) if far else ""

    def standing(self, out: Floats, parameters: Floats, feet: Floats) -> Standing:
        """How the pallets stand, for verdicts."""
        read = self._read(out)
        return Standing(
            read["rest_gap"], read["rest_pressure"], read["widest_gap"], read["key_dip"], read["held_pressure"],
            read["left_gap"], read["left_pressure"], self.box(parameters), feet,
        )  # fmt: skip

    def verdicts(self, out: Floats, parameters: Floats, feet: Floats) -> Verdicts:
        """The verdict of every design.

        Parameters
        ----------
        out, parameters : (N, m) and (N, np) arrays
        feet : (N,) array
            Toe area of the stops that are drawn on its groove, m2.

        Returns
        -------
        Verdicts
            In the words of `keyaction.sim.figures.verdict`.
        """
        at, unknown = self.standing(out, parameters, feet), FATES.index(Fate.UNKNOWN)
        found = np.where(self.turned(out), unknown, fates(at))
        reasons = dict[int, str]()
        for i in np.flatnonzero(~plain(at, found) & (found != unknown)).tolist():
            reasons[i] = self._judged(at.one(i), FATES[found[i]], out[i], parameters[i]).reason
        return Verdicts(found, {i: text for i, text in reasons.items() if text})

    def _judged(self, at: Standing, fate: Fate, row: Floats, parameters: Floats) -> Verdict:
        left = self._columns(row[None, :], "left")[0]
        return judged(at, fate, lambda: self._tight(parameters), lambda: rubbing(self._bushings(parameters), left))

    def _tight(self, parameters: Floats) -> Sequence[str]:
        """Rods that are too tight, in train order."""
        slack = {name.part: value for name, value in zip(self.kernel.parameters, parameters, strict=True)
                 if name.what == "slack"}  # fmt: skip
        return [member.name for member in self.structure if slack.get(member.name, math.nan) < 0.0]

    def _bushings(self, parameters: Floats) -> Bushings:
        still = Drive("motion", (Piece(0.0, 1.0),), self.stiffness, damping=0.0)
        drive = drives_of_many(self.kernel, still, parameters[None, :])[0]
        return Bushings(self.structure, self.kernel, parameters, drive)


def _ratio(pluck: Floats, follow: Floats) -> Floats:
    return np.where(follow >= NO_FORCE, pluck / follow, np.nan)


def _share(held: Floats, box: Floats) -> Floats:
    share = held / box
    return np.where(box > 0.0, np.where(np.abs(share) > NOTHING, share, 0.0), np.nan)
