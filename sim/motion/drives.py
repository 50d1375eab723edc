"""What the finger does: pieces of polynomial motion or force, cut where they change."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from keyaction.models.algebra.names import Name
from keyaction.models.parts.common import GRAVITY
from keyaction.sim.code.layout import CHANGE, DRIVE

FINGER_STIFFNESS = 3000.0
"""N/m: the pad of a finger, 3 N/mm (assumed by the standard stroke)."""
FINGER_DAMPING = 2.0
"""s/m in F = k x (1 + damping x'): a soft pad does not rebound (assumed)."""

PRESS_HOLD, PRESS_EASE = 0.1, 0.03
"""s: how long the slow press holds at the bottom, and in which it reaches its speed."""


@dataclass(frozen=True)
class Piece:
    """One smooth stretch of the drive: way (m) and force (N) as polynomials of time since `start`."""

    start: float
    end: float
    way: tuple[float, ...] = (0.0,)
    force: tuple[float, ...] = (0.0,)

    def way_at(self, t: float) -> float:
        return float(sum(c * (t - self.start) ** i for i, c in enumerate(self.way)))


@dataclass(frozen=True)
class Change:
    """A least-jerk change of something that a train takes from outside: the wind in its box, the place of a rail.

    `of` is the parameter, `after` what it becomes (SI) between `start` and `end` (s); before, it is the train's own.
    """

    of: Name
    after: float
    start: float
    end: float


@dataclass(frozen=True)
class Drive:
    """A drive from time 0 on.

    Attributes
    ----------
    kind : str
        ``motion``, ``force`` or ``mass``.
    pieces : tuple of Piece
        Without gaps.
    stiffness, damping : float
        Of the finger's pad (N/m, s/m).
    mass : float
        Laid on the key (kg), for kind ``mass``.
    marks : tuple of (name, time)
        Instants worth knowing: ``press``, ``bottom``, ``lift`` and so on.
    changes : tuple of Change
        What changes from outside meanwhile; a train must take it as an input.
    """

    kind: str
    pieces: tuple[Piece, ...]
    stiffness: float = FINGER_STIFFNESS
    damping: float = FINGER_DAMPING
    mass: float = 0.0
    marks: tuple[tuple[str, float], ...] = ()
    changes: tuple[Change, ...] = ()

    @property
    def end(self) -> float:
        return self.pieces[-1].end

    @property
    def rider(self) -> bool:
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
        """The same drive begun from the key's own place of rest."""
        moved = (replace(p, way=(p.way[0] + way, *p.way[1:])) for p in self.pieces)
        return replace(self, pieces=tuple(moved))

    def mark(self, name: str) -> float:
        """Time of a mark."""
        return dict(self.marks)[name]


def quintic(start: float, end: float, way_from: float, way_to: float) -> Piece:
    """Least-jerk motion between two places of rest.

    T. Flash and N. Hogan, "The coordination of arm movements", J. Neurosci. 5 (1985) 1688-1703 (from memory).
    """
    duration, way = end - start, way_to - way_from
    return Piece(
        start,
        end,
        (way_from, 0.0, 0.0, 10 * way / duration**3, -15 * way / duration**4, 6 * way / duration**5),
    )


def _positive(**values: float) -> None:
    wrong = [f"{name} is {value:g}" for name, value in values.items() if not value > 0]
    if wrong:
        raise ValueError(f"{', '.join(wrong)}; it must be above 0")


def stroke(
    down: float, hold: float, up: float, depth: float, rest: float = 0.22, stiffness: float = FINGER_STIFFNESS
) -> Drive:
    """One stroke: `depth` (m) down, hold, up, then off the key for `rest`; times in s."""
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
    """Down at constant `speed` (m/s) to `depth` (m), a hold, and up again as slowly.

    The speed is reached evenly over the first `ease` seconds, so that a light key is not struck.
    """
    _positive(speed=speed, depth=depth, stiffness=stiffness, hold=hold)
    time = depth / speed + ease / 2
    begun = [Piece(0.0, ease, (0.0, 0.0, speed / (2 * ease)))] if ease > 0 else []
    pieces = [*begun, Piece(ease, time, (speed * ease / 2, speed)), Piece(time, time + hold, (depth,))]
    if release:
        pieces.append(Piece(time + hold, time + hold + depth / speed, (depth, -speed)))
    marks = (("press", 0.0), ("bottom", time), ("lift", time + hold))
    return Drive("motion", tuple(pieces), stiffness, marks=marks)


def repeated(rate: float, depth: float, count: int, stiffness: float = FINGER_STIFFNESS) -> Drive:
    """`count` strokes at `rate` (Hz): a quarter of the period down, an eighth hold, a quarter up, the rest off."""
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
    return Drive("motion", tuple(pieces), stiffness, marks=tuple(marks))


def _smooth_rise(start: float, end: float, to: float) -> Piece:
    risen = quintic(start, end, 0.0, to)
    return Piece(start, end, force=risen.way)


def force(amount: float, rise: float, hold: float, fall: float, rest: float = 0.2) -> Drive:
    """A force on the key front (N) that rises smoothly, holds and falls."""
    _positive(rise=rise, hold=hold, fall=fall)
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
    """A mass (kg) laid gently on the key: its weight comes on over `laying` seconds and stays for `hold`."""
    _positive(mass=mass, laying=laying, hold=hold)
    weight = mass * GRAVITY
    pieces = (_smooth_rise(0.0, laying, weight), Piece(laying, laying + hold, force=(weight,)))
    return Drive("mass", pieces, stiffness, mass=mass, marks=(("press", 0.0), ("laid", laying)))
