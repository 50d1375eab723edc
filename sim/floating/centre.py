"""How the nuts of a floating rail's notes are set: each rod its share of the load, the rail at its centre."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from keyaction.sim.floating.curves import Curve
from keyaction.sim.floating.equilibrium import Held
from keyaction.sim.motion.integrate import Floats


@dataclass(frozen=True)
class Centred:
    """How the nuts of all notes are set so that each pulls its share with the rail at its centre.

    Attributes
    ----------
    share : float
        Of the load, N a note.
    stretch : (n,) array
        Of the rod that stands for all of each note, m; of one that cannot pull its share the stretch of its utmost.
    pulls : (n,) array
        What each pulls then, N.
    opens : tuple of int
        Notes whose pallet would stand off its seat with so much pull: they cannot carry their share.
    heavy : tuple of int
        Notes that pull more than their share however slack: their own weight does.
    """

    share: float
    stretch: Floats
    pulls: Floats
    opens: tuple[int, ...]
    heavy: tuple[int, ...]


def centred(held: Held, load: float | None = None) -> Centred:
    """Set every note to pull its equal share of the load (N; the rail's own by default) at the rail's centre."""
    share = (held.rail.load if load is None else load) / len(held.notes)
    found = [_set_to(curve, share, opens) for curve, opens in zip(held.curves, held.opens.tolist(), strict=True)]
    stretch = np.array([at for at, _ in found])
    pulls = np.array([float(curve.at(at)) for curve, at in zip(held.curves, stretch, strict=True)])
    told = {sense: tuple(n for n, (_, one) in zip(held.notes, found, strict=True) if one == sense) for sense in (1, -1)}
    return Centred(share, stretch, pulls, told[1], told[-1])


def _set_to(curve: Curve, share: float, opens: float) -> tuple[float, int]:
    """Stretch at which a note pulls its share; +1 where it cannot pull so much, -1 where not so little."""
    if curve.least > share:
        return min(curve.taut, curve.last), -1
    at = curve.reaches(share)
    return (at, 0) if at <= opens else (min(opens, curve.last), 1)
