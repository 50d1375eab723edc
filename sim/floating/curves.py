"""How hard a note pulls at the rail over the stretch of its rod: what is known, and how it goes on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from keyaction.sim.motion.integrate import Floats

FAR = 1.0
"""m beyond the ends of what is known: farther than any rail goes."""
TAUT = 1e-3
"""N beyond its own weight from which a rod counts as taut: above what a rest is found to, below any load's share."""


@dataclass(frozen=True)
class Curve:
    """Pull of one note over the stretch of the rod that stands for all: straight between nodes, never falling.

    Attributes
    ----------
    stretch : (K,) array
        Rising, m.
    pull : (K,) array
        Force on the rail against its load, N.
    """

    stretch: Floats
    pull: Floats

    @classmethod
    def of(cls, stretch: Floats, pull: Floats) -> Curve:
        """From what is known, (K,) each; nodes that are not finite are left out.

        Beyond the last node it goes on by the last slope. Below the first it falls by the first slope to nought and
        stays there, since rods only pull. A note whose pallet stands open at rest is taken to pull on as hard as it
        did before, until it pulls harder: so that the curve never falls, and the rail has one place.

        Raises
        ------
        ValueError
            With fewer than two known nodes.
        """
        known = np.isfinite(pull) & np.isfinite(stretch)
        if np.count_nonzero(known) < 2:
            raise ValueError("a pull over the stretch needs two known nodes at least")
        s, p = np.asarray(stretch, float)[known], np.maximum.accumulate(np.asarray(pull, float)[known])
        last = (p[-1] - p[-2]) / (s[-1] - s[-2])
        first = (p[1] - p[0]) / (s[1] - s[0])
        far = p[0] - first * FAR if p[0] > 0.0 else p[0]
        before = [(s[0] - FAR, far)]
        if far < 0.0 < p[0]:
            nought = s[0] - p[0] / first
            before = [(nought - FAR, 0.0), (nought, 0.0)]
        return cls(
            np.concatenate([[x for x, _ in before], s, [s[-1] + FAR]]),
            np.concatenate([[y for _, y in before], p, [p[-1] + last * FAR]]),
        )

    def at(self, stretch: Floats | float) -> Floats:
        """Pull at any stretch (m), N."""
        return np.asarray(np.interp(stretch, self.stretch, self.pull))

    def slope(self, stretch: Floats | float) -> Floats:
        """Rise of the pull per stretch, N/m, of the stretch of curve that ends at or lies over the given one."""
        i = np.clip(np.searchsorted(self.stretch, stretch), 1, len(self.stretch) - 1)
        return np.asarray((self.pull[i] - self.pull[i - 1]) / (self.stretch[i] - self.stretch[i - 1]))

    @property
    def least(self) -> float:
        """Pull of the slack rod, N: what of its own weight hangs on the rail."""
        return float(self.pull[0])

    @property
    def last(self) -> float:
        """The last stretch that is known, m."""
        return float(self.stretch[-2])

    @property
    def taut(self) -> float:
        """Where it begins to pull more than slack, m: from where it pulls `TAUT` more, straight back; infinite if it
        never does."""
        at = self._first(self.least + TAUT)
        return at - TAUT / float(self.slope(at)) if np.isfinite(at) else np.inf

    def reaches(self, pull: float) -> float:
        """The smallest stretch at which it pulls so much (N), m; NaN if it never pulls so much, or always more."""
        if pull < self.least:
            return np.nan
        return self.taut if pull == self.least else self._first(pull)

    def _first(self, pull: float) -> float:
        """The first stretch at which it pulls so much, more than slack; NaN if it never does."""
        if not pull <= self.pull[-1]:
            return np.nan
        i = int(np.searchsorted(self.pull, pull))
        share = (pull - self.pull[i - 1]) / (self.pull[i] - self.pull[i - 1])
        return float(self.stretch[i - 1] + share * (self.stretch[i] - self.stretch[i - 1]))
