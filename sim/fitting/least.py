"""Bounded least squares from several starts, and the shape of the sum of squares where it ends."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

Floats = NDArray[np.float64]
Residuals = Callable[[Floats], Floats]
"""Unknowns (p,) to residuals (n,), each over its error."""
Jacobian = Callable[[Floats], Floats]
"""Unknowns (p,) to the residuals' derivatives, (n, p)."""

EXACT = 1e-14
"""Of cost, step and slope: the sum of squares is followed to the rounding of its figures."""
AT_BOUND = 1e-6
"""Share of its scale within which an unknown lies on its bound."""
MOST = 2000
"""Evaluations that one start may take."""


@dataclass(frozen=True)
class Space:
    """The unknowns of a fit.

    Attributes
    ----------
    low, high : (p,) array
        Bounds, infinite where there are none.
    scale : (p,) array
        What counts as one step of each; above 0.
    """

    low: Floats
    high: Floats
    scale: Floats

    @classmethod
    def free(cls, scale: Sequence[float]) -> Space:
        """Without bounds."""
        n = len(scale)
        return cls(np.full(n, -np.inf), np.full(n, np.inf), np.asarray(scale, dtype=float))

    def without(self, k: int) -> Space:
        """The same without one unknown."""
        return Space(np.delete(self.low, k), np.delete(self.high, k), np.delete(self.scale, k))

    def inside(self, values: Floats) -> Floats:
        """The nearest place within the bounds."""
        return np.asarray(np.clip(values, self.low, self.high))

    def ended(self, values: Floats) -> Floats:
        """Where a search ended, which comes near its bounds but stays within: what is that near lies on its bound."""
        near = AT_BOUND * self.scale
        values = np.where(values - self.low <= near, self.low, values)
        return np.asarray(np.where(self.high - values <= near, self.high, values))


@dataclass(frozen=True)
class Fit:
    """The best that was found.

    Attributes
    ----------
    values : (p,) array
    residuals : (n,) array
        Each over its error.
    jacobian : (n, p) array
        Their derivatives there.
    space : Space
    done : bool
        Whether the search ended by itself.
    told : str
        What it says of its end.
    ends : tuple of float
        Sum of squares at which each start ended.
    """

    values: Floats
    residuals: Floats
    jacobian: Floats
    space: Space
    done: bool
    told: str
    ends: tuple[float, ...] = field(default=())

    @property
    def squares(self) -> float:
        """Sum of squares of the residuals."""
        return float(self.residuals @ self.residuals)

    @property
    def freedom(self) -> int:
        """Residuals beyond the number of unknowns."""
        return len(self.residuals) - len(self.values)

    @cached_property
    def at_bound(self) -> tuple[bool, ...]:
        """Of every unknown whether it ends on a bound."""
        near = AT_BOUND * self.space.scale
        return tuple(((self.values - self.space.low <= near) | (self.space.high - self.values <= near)).tolist())


def fit(
    residuals: Residuals,
    starts: Sequence[Floats],
    space: Space,
    jacobian: Jacobian | None = None,
    exact: float = EXACT,
    most: int = MOST,
) -> Fit:
    """The least sum of squares that any of the starts leads to.

    A trust-region method with bounds (Branch, Coleman and Li, SIAM J. Sci. Comput. 21 (1999) 1-23; scipy's `trf`), each
    unknown counted in its scale.

    Parameters
    ----------
    residuals : callable
    starts : sequence of (p,) array
        At least one; one that lies outside the bounds begins at the nearest place within.
    space : Space
    jacobian : callable, optional
        Differences of three points by default.
    exact : float
        Relative change of cost, step and slope at which a search ends.
    most : int
        Evaluations that one start may take.

    Raises
    ------
    ValueError
        When there are fewer residuals than unknowns.
    """
    found: list[Fit] = []
    scale = space.scale
    slopes = "3-point" if jacobian is None else lambda steps: jacobian(steps * scale) * scale
    for start in starts:
        one = least_squares(
            lambda steps: residuals(steps * scale),
            space.inside(np.asarray(start, dtype=float)) / scale,
            slopes,
            bounds=(space.low / scale, space.high / scale),
            x_scale="jac" if jacobian is None else 1.0,
            ftol=exact,
            xtol=exact,
            gtol=exact,
            max_nfev=most,
        )
        if len(one.fun) < len(one.x):
            raise ValueError(f"{len(one.fun)} residuals for {len(one.x)} unknowns")
        values = space.ended(one.x * scale)
        found.append(Fit(values, one.fun, np.asarray(one.jac) / scale, space, one.status > 0, one.message))
    best = min(found, key=lambda one: one.squares)
    ends = tuple(one.squares for one in found)
    return Fit(best.values, best.residuals, best.jacobian, space, best.done, best.told, ends)
