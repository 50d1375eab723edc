"""What the finger does: pieces of polynomial motion or force, cut where they change."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from numbers import Real

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.text.near import hint
from keyaction.models.algebra.names import Name
from keyaction.models.parts.common import GRAVITY
from keyaction.models.parts.finger import PAD_DAMPING
from keyaction.sim.code.layout import CHANGE, DRIVE
from keyaction.sim.motion.changes import Change, check_changes

FINGER_STIFFNESS = 3000.0
"""N/m: the pad of a finger, 3 N/mm (assumed by the standard stroke)."""
FINGER_DAMPING = PAD_DAMPING
"""s/m: of that pad (assumed)."""

PRESS_HOLD, PRESS_EASE = 0.1, 0.03
"""s: how long the slow press holds at the bottom, and in which it reaches its speed."""

KINDS = ("motion", "force", "mass")
"""What a drive may prescribe."""
TERMS = 6
"""Coefficients that a piece may have: the equations read polynomials up to the fifth degree."""
ROUNDING = 1e-9
"""s by which two pieces may miss each other: the rounding of their times."""


@dataclass(frozen=True)
class Piece:
    """One smooth stretch of a drive: way and force as polynomials of the time since its start.

    Parameters
    ----------
    start, end : float
        Times, s.
    way : tuple of 1 to 6 floats
        Coefficients of the finger's way down from where the key rests, m, m/s, m/s^2 ..., lowest power first.
    force : tuple of 1 to 6 floats
        The same for the force on the key's front, N, N/s ...

    Raises
    ------
    ValueError
        When it ends before it begins, has no coefficient or more than six, or one that is no finite number.

    Examples
    --------
    >>> from keyaction import drives
    >>> round(drives.Piece(0.1, 0.2, way=(0.0, 0.05)).way_at(0.14), 6)  # m: 50 mm/s for 40 ms
    0.002
    """

    start: float
    end: float
    way: tuple[float, ...] = (0.0,)
    force: tuple[float, ...] = (0.0,)

    def __post_init__(self) -> None:
        if not (math.isfinite(self.start) and self.start < self.end < math.inf):
            raise ValueError(f"a piece from {self.start:g} s to {self.end:g} s: it must end after it begins")
        for name, terms in (("way", self.way), ("force", self.force)):
            if not 1 <= len(terms) <= TERMS:
                raise ValueError(f"{name} has {len(terms)} coefficients; a piece has 1 to {TERMS}")
            if not all(map(math.isfinite, terms)):
                raise ValueError(f"{name} has a coefficient that is no finite number: {terms}")

    def way_at(self, t: float) -> float:
        """Way of the finger (m) at time `t` (s)."""
        return _value(self.way, t - self.start)

    def force_at(self, t: float) -> float:
        """Force on the key's front (N) at time `t` (s)."""
        return _value(self.force, t - self.start)


def _value(terms: tuple[float, ...], time: float) -> float:
    return float(sum(c * time**i for i, c in enumerate(terms)))


@dataclass(frozen=True)
class Drive:
    """What is done to the key from time 0 on.

    Parameters
    ----------
    kind : {"motion", "force", "mass"}
        Whether a way of the finger, a force on the key's front, or a mass laid on it is prescribed.
    pieces : tuple of Piece
        One after the other, without gaps.
    stiffness, damping : float
        Of the finger's pad, N/m and s/m, in F = k x (1 + damping x').
    mass : float
        Laid on the key (kg), for kind ``mass``.
    marks : tuple of (str, float)
        Instants worth knowing (s): ``press``, ``bottom``, ``lift`` and so on.
    changes : tuple of Change
        What changes from outside meanwhile, each input once; a train must take it as an input.
    strokes : int
        How many strokes it has; of several the marks are numbered, from ``press 0`` on.

    Raises
    ------
    TypeError
        When `changes` is no tuple of `Change`.
    ValueError
        When the kind is not known, a laid mass is not above 0, there is no piece, two pieces leave a gap or
        overlap by more than 1 ns, or two changes are of the same input.

    Examples
    --------
    >>> from keyaction import drives
    >>> down = drives.quintic(0.0, 0.05, 0.0, 0.010)  # 10 mm in 50 ms
    >>> drive = drives.Drive("motion", (down, drives.Piece(0.05, 0.2, way=(0.010,))))
    >>> drive.end
    0.2
    """

    kind: str
    pieces: tuple[Piece, ...]
    stiffness: float = FINGER_STIFFNESS
    damping: float = FINGER_DAMPING
    mass: float = 0.0
    marks: tuple[tuple[str, float], ...] = ()
    changes: tuple[Change, ...] = ()
    strokes: int = 1

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"a drive of kind '{self.kind}' is not known{hint(self.kind, KINDS)}")
        if self.rider and not self.mass > 0:
            raise ValueError(f"a mass of {self.mass:g} kg is laid on the key; it must be above 0")
        if not self.pieces:
            raise ValueError("a drive needs at least one piece")
        for one, other in pairwise(self.pieces):
            apart = other.start - one.end
            if abs(apart) > ROUNDING:
                what = "a gap" if apart > 0 else "an overlap"
                raise ValueError(f"{what} of {abs(apart):g} s between the pieces at {one.end:g} s")
        check_changes(self.changes)

    @property
    def end(self) -> float:
        """When it ends, s."""
        return self.pieces[-1].end

    @property
    def rider(self) -> bool:
        """Whether a mass lies on the key in place of the finger."""
        return self.kind == "mass"

    def vector(self, piece: Piece, held: Sequence[tuple[Name, float]] = ()) -> NDArray[np.float64]:
        """The drive vector of one piece, in the layout of `keyaction.sim.code.layout.DRIVE`.

        `held` are the inputs of the train, in order, with the values that they have unless the drive changes them.
        """
        d = np.zeros(len(DRIVE) + len(CHANGE) * len(held))
        d[0] = piece.start
        d[1 : 1 + len(piece.way)] = piece.way
        d[7 : 7 + len(piece.force)] = piece.force
        d[13], d[14], d[15] = self.stiffness, self.damping, self.mass
        d[len(DRIVE) :] = [x for name, value in held for x in self.course(name, value)]
        return d

    def course(self, name: Name, value: float) -> tuple[float, float, float, float]:
        """How an input goes: value before, its change, begin, and one over the duration."""
        for change in self.changes:
            if change.of == name:
                return value, change.after - value, change.start, 1 / (change.end - change.start)
        return value, 0.0, 0.0, 1.0

    def cuts(self, piece: Piece) -> list[float]:
        """Instants within a piece at which a change begins or ends, and the piece's own ends."""
        inner = {t for change in self.changes for t in (change.start, change.end) if piece.start < t < piece.end}
        return [piece.start, *sorted(inner), piece.end]

    def lowered(self, way: float) -> Drive:
        """The same drive with `way` (m) added: begun from the key's own place of rest."""
        moved = (replace(p, way=(p.way[0] + way, *p.way[1:])) for p in self.pieces)
        return replace(self, pieces=tuple(moved))

    def mark(self, name: str) -> float:
        """Time of a mark, s; `KeyError` if the drive has no such mark."""
        return dict(self.marks)[name]


HANDS_OFF = Drive("motion", (Piece(0.0, 1.0),), stiffness=0.0)
"""Nothing touches the key."""


def quintic(start: float, end: float, way_from: float, way_to: float) -> Piece:
    """Least-jerk motion between two places of rest.

    T. Flash and N. Hogan, "The coordination of arm movements", J. Neurosci. 5 (1985) 1688-1703 (from memory).

    Parameters
    ----------
    start, end : float
        Times, s.
    way_from, way_to : float
        Ways at these times, m; speed and acceleration are zero there.

    Returns
    -------
    Piece

    Raises
    ------
    ValueError
        When it ends before it begins.

    Examples
    --------
    >>> from keyaction import drives
    >>> piece = drives.quintic(0.0, 0.04, 0.0, 0.010)
    >>> round(piece.way_at(0.02), 6)  # half-way in the middle
    0.005
    """
    if not end > start:
        raise ValueError(f"a motion from {start:g} s to {end:g} s: it must end after it begins")
    duration, way = end - start, way_to - way_from
    return Piece(
        start,
        end,
        (way_from, 0.0, 0.0, 10 * way / duration**3, -15 * way / duration**4, 6 * way / duration**5),
    )


def _positive(**values: float) -> None:
    odd = [f"{name} is {value!r}" for name, value in values.items() if not isinstance(value, Real)]
    if odd:
        raise TypeError(f"{', '.join(odd)}; a number is needed, in SI units")
    wrong = [f"{name} is {value:g}" for name, value in values.items() if not value > 0]
    if wrong:
        raise ValueError(f"{', '.join(wrong)}; it must be above 0")


def stroke(
    down: float, hold: float, up: float, depth: float, rest: float = 0.22, stiffness: float = FINGER_STIFFNESS
) -> Drive:
    """One stroke: least-jerk down, hold, least-jerk up, then off the key.

    Parameters
    ----------
    down, hold, up, rest : float
        How long each takes, s.
    depth : float
        Way of the finger, m; more than the key's dip presses into the felt.
    stiffness : float
        Of the finger's pad, N/m (3 N/mm assumed).

    Returns
    -------
    Drive
        With the marks ``press``, ``bottom``, ``lift``, ``top``.

    Raises
    ------
    ValueError
        When a value is not above 0.

    Examples
    --------
    >>> from keyaction import drives
    >>> drive = drives.stroke(down=0.04, hold=0.15, up=0.04, depth=0.011)
    >>> round(drive.mark("lift"), 3), round(drive.end, 3)
    (0.19, 0.45)
    """
    _positive(down=down, hold=hold, up=up, depth=depth, rest=rest)
    bottom, lift = down, down + hold
    top = lift + up
    pieces = (
        quintic(0.0, bottom, 0.0, depth),
        Piece(bottom, lift, (depth,)),
        quintic(lift, top, depth, 0.0),
        Piece(top, top + rest),
    )
    return Drive("motion", pieces, stiffness, marks=(("press", 0.0), ("bottom", bottom), ("lift", lift), ("top", top)))


def press(
    speed: float, depth: float, stiffness: float, hold: float = 0.1, release: bool = True, ease: float = 0.0
) -> Drive:
    """Down at constant speed, a hold, and up again as slowly: how the touch is measured.

    Parameters
    ----------
    speed : float
        Of the finger, m/s.
    depth : float
        How far it goes, m.
    stiffness : float
        Of the gauge that presses, N/m.
    hold : float
        How long it stays down, s.
    release : bool
        Whether it comes up again.
    ease : float
        The speed is reached evenly over these first seconds, so that a light key is not struck.

    Returns
    -------
    Drive
        With the marks ``press``, ``bottom``, ``lift``.

    Raises
    ------
    ValueError
        When a value is not above 0, or the depth is reached before the speed is.

    Examples
    --------
    >>> from keyaction import drives
    >>> drive = drives.press(speed=0.010, depth=0.012, stiffness=2e4)
    >>> drive.mark("bottom"), round(drive.end, 3)
    (1.2, 2.5)
    """
    _positive(speed=speed, depth=depth, stiffness=stiffness, hold=hold)
    time = depth / speed + ease / 2
    if not time > ease >= 0:
        raise ValueError(f"ease is {ease:g} s; it must be 0 to {2 * depth / speed:g} s, when the depth is reached")
    begun = [Piece(0.0, ease, (0.0, 0.0, speed / (2 * ease)))] if ease > 0 else []
    pieces = [*begun, Piece(ease, time, (speed * ease / 2, speed)), Piece(time, time + hold, (depth,))]
    if release:
        pieces.append(Piece(time + hold, time + hold + depth / speed, (depth, -speed)))
    marks = (("press", 0.0), ("bottom", time), ("lift", time + hold))
    return Drive("motion", tuple(pieces), stiffness, marks=marks)


def repeated(rate: float, depth: float, count: int, stiffness: float = FINGER_STIFFNESS) -> Drive:
    """Even strokes: a quarter of the period down, an eighth hold, a quarter up, the rest off the key.

    Parameters
    ----------
    rate : float
        Strokes a second, Hz.
    depth : float
        Way of the finger, m.
    count : int
        Number of strokes.
    stiffness : float
        Of the finger's pad, N/m (3 N/mm assumed).

    Returns
    -------
    Drive
        With the marks ``press 0``, ``lift 0``, ``end 0``, ``press 1`` and so on.

    Raises
    ------
    ValueError
        When a value is not above 0.

    Examples
    --------
    >>> from keyaction import drives
    >>> drive = drives.repeated(rate=8.0, depth=0.011, count=3)
    >>> drive.mark("press 2"), drive.end
    (0.25, 0.375)
    """
    _positive(rate=rate, depth=depth, count=count)
    period = 1 / rate
    pieces: list[Piece] = []
    marks: list[tuple[str, float]] = []
    for i in range(count):
        t = i * period
        cuts = t, t + period / 4, t + 3 * period / 8, t + 5 * period / 8, (i + 1) * period
        pieces += [
            quintic(cuts[0], cuts[1], 0.0, depth),
            Piece(cuts[1], cuts[2], (depth,)),
            quintic(cuts[2], cuts[3], depth, 0.0),
            Piece(cuts[3], cuts[4]),
        ]
        marks += [(f"press {i}", cuts[0]), (f"lift {i}", cuts[2]), (f"end {i}", cuts[4])]
    return Drive("motion", tuple(pieces), stiffness, marks=tuple(marks), strokes=count)


def _smooth_rise(start: float, end: float, to: float) -> Piece:
    risen = quintic(start, end, 0.0, to)
    return Piece(start, end, force=risen.way)


def force(amount: float, rise: float, hold: float, fall: float, rest: float = 0.2) -> Drive:
    """A force on the key's front that rises smoothly, holds and falls.

    Parameters
    ----------
    amount : float
        The force held, N, down on the front.
    rise, hold, fall, rest : float
        How long each takes, s.

    Returns
    -------
    Drive
        With the marks ``press``, ``bottom``, ``lift``, ``top``.

    Raises
    ------
    ValueError
        When a time is not above 0.

    Examples
    --------
    >>> from keyaction import drives
    >>> drive = drives.force(3.0, rise=0.02, hold=0.10, fall=0.02)
    >>> round(drive.pieces[0].force_at(0.01), 6)  # N, half-way up
    1.5
    """
    _positive(rise=rise, hold=hold, fall=fall, rest=rest)
    top, lift = rise, rise + hold
    down = quintic(lift, lift + fall, amount, 0.0)
    pieces = (
        _smooth_rise(0.0, top, amount),
        Piece(top, lift, force=(amount,)),
        Piece(lift, lift + fall, force=down.way),
        Piece(lift + fall, lift + fall + rest),
    )
    return Drive("force", pieces, marks=(("press", 0.0), ("bottom", top), ("lift", lift), ("top", lift + fall)))


def laid_mass(mass: float, laying: float = 0.5, hold: float = 1.0, stiffness: float = 1e5) -> Drive:
    """A mass laid gently on the key's front, as keys are weighed.

    Parameters
    ----------
    mass : float
        kg.
    laying : float
        Time over which its weight comes on, s.
    hold : float
        How long it lies, s.
    stiffness : float
        Of the contact between mass and key, N/m.

    Returns
    -------
    Drive
        With the marks ``press`` and ``laid``.

    Raises
    ------
    ValueError
        When a value is not above 0.

    Examples
    --------
    >>> from keyaction import drives
    >>> drive = drives.laid_mass(0.120)  # 120 g
    >>> round(drive.pieces[1].force[0], 3)  # N
    1.177
    """
    _positive(mass=mass, laying=laying, hold=hold, stiffness=stiffness)
    weight = mass * GRAVITY
    pieces = (_smooth_rise(0.0, laying, weight), Piece(laying, laying + hold, force=(weight,)))
    return Drive("mass", pieces, stiffness, mass=mass, marks=(("press", 0.0), ("laid", laying)))
