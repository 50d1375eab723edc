"""How wood follows the air: its moisture content goes towards that of rest, each piece in its own time.

dM/dt = (M_rest - M) / tau. A plane sheet of thickness L with both faces open, moisture passing by diffusion D, has
tau = L² / 12 D: exactly its delay behind a slow change, and exactly the area between a step and its answer (J. Crank,
The Mathematics of Diffusion, 2nd ed., 1975, ch. 4, its series summed in `keyaction.models.climate.sheet`). A film on
its faces adds half of L times the film's resistance, exact in the same sense. Elsewhere the first-order law departs:

- half of a step is reached at 0.0578 L²/D, by the series at 0.0492 (17 % late); 90 % at 0.192, by the series at 0.212
  (10 % early);
- a wave of a year: 20 mm thick 92.4 h behind in both; 38 mm 328 h behind by 323, swing 0.972 of the air's by 0.962;
- a wave of a day: 2 mm thick swing 0.972 by 0.961; 10 mm 0.163 by 0.233, 5.4 h behind by 3.0; 20 mm 0.041 by 0.117:
  thick wood's skin answers to a day, its mean by first order less than in truth. No length of a frame is moved by it
  as much as by the seasons.

Air that stands still before bare faces is left out, and D is that of spruce in a room's warmth, taken for all woods:
thin rods follow in minutes here and may take hours; dense woods are slower. A lag is known to a factor of two at best.
"""

from __future__ import annotations

import numpy as np

from keyaction.models.climate.finishes import DIFFUSION, FINISHES, Finish
from keyaction.models.climate.year import DAY, Floats, Year
from keyaction.models.formulas.sections import rectangle
from keyaction.models.formulas.wood import moisture_contents

__all__ = [
    "DIFFUSION",
    "FINISHES",
    "WHOLE_YEAR",
    "Finish",
    "equilibrium",
    "followed",
    "moisture",
    "repeats",
    "time_constant",
]

WHOLE_YEAR = 330 * DAY
"""s: a climate that changes and is as long as this is a whole year, and repeats itself year by year. Assumed."""
_STEADY = 1e-9
"""K or a share of humidity: changes up to this are rounding."""
_ENDLESS = 1e6
"""Years after which wood stands at the mean of what it follows, to the precision of numbers."""


def time_constant(thickness: float, finish: str = "bare", faces: int = 2, breadth: float = 0.0) -> float:
    """Lag of a piece of wood behind the air.

    Parameters
    ----------
    thickness : float
        Size that moisture passes through, m; finite.
    finish : str
        A name of `FINISHES`.
    faces : int
        2, or 1 where the other face is shut: a sheet of twice the thickness cut through its middle.
    breadth : float
        The other size across, m; 0 of a wide board.

    Returns
    -------
    float
        s: L²/12D + L R/2, L the thickness (twice it with one face), R the film's `resistance`.

    Raises
    ------
    ValueError
        If the thickness is not above 0 and finite, the breadth below 0 or not finite, or there is another number of
        faces.
    KeyError
        If there is no such finish.

    Examples
    --------
    >>> [round(time_constant(0.020) / 86400, 2), round(time_constant(0.020, faces=1) / 86400, 2)]
    [3.86, 15.43]
    >>> round(time_constant(0.020, breadth=0.020) / time_constant(0.020), 4)
    0.4217
    """
    if not 0 < thickness < np.inf:
        raise ValueError(f"thickness {thickness:g} m: it must be above 0 and finite")
    if not 0 <= breadth < np.inf:
        raise ValueError(f"breadth {breadth:g} m: it must be finite, and above 0, or 0 of a wide board")
    if faces not in (1, 2):
        raise ValueError(f"faces {faces}: moisture passes through 1 or 2")
    whole, film = thickness * 2 / faces, FINISHES[finish].resistance
    if not breadth:
        return whole**2 / (12 * DIFFUSION) + whole * film / 2
    across = rectangle(breadth, whole)
    return across.torsion / (4 * across.area * DIFFUSION) + film * across.area / (2 * (breadth + whole))


def followed(values: Floats, seconds: Floats, tau: float | Floats, first: float | Floats) -> Floats:
    """What follows a course of values by first order; exact for straight lines between the instants.

    Parameters
    ----------
    values : (N,) array
        What is followed.
    seconds : (N,) array
        Rising instants, s.
    tau : float or (M,) array
        Lags, s, 0 or more: 0 follows at once, infinity never.
    first : float or (M,) array
        Where it begins, in the unit of the values; what has no lag does not mind.

    Returns
    -------
    (N,) or (M, N) array
        In the unit of the values; one row for each lag.

    Raises
    ------
    ValueError
        If a lag is below 0 or no number.

    Notes
    -----
    With e = exp(-h/tau) over a step h, the distance d from what is followed goes from d to
    e d - (1 - e) tau/h (v1 - v0).
    """
    lags = _lags(tau)
    begins = np.where(lags > 0, np.asarray(first, dtype=float) - values[0], 0.0)
    keeps, gains = _steps(np.diff(seconds), np.diff(values), lags)
    found = values + _summed(np.vstack((begins, gains)), np.vstack((np.zeros_like(begins), keeps))).T
    return found if np.ndim(tau) else found[0]


def _lags(tau: float | Floats) -> Floats:
    lags = np.atleast_1d(np.asarray(tau, dtype=float))
    if not np.all(lags >= 0):
        wrong = ", ".join(f"{one:g}" for one in lags[~(lags >= 0)][:5])
        raise ValueError(f"lag {wrong} s: it must be 0 or more")
    return lags


def _steps(steps: Floats, rises: Floats, lags: Floats) -> tuple[Floats, Floats]:
    """Over every step, (N - 1, M): the share of a distance that is kept, and what the step adds to it."""
    lengths, which = np.unique(steps, return_inverse=True)
    with np.errstate(divide="ignore", invalid="ignore"):
        over = lengths[:, None] / lags[None, :]
        gives = np.where(over > 0, -np.expm1(-over) / over, 1.0)
    which = which.ravel()
    return np.exp(-over)[which], -gives[which] * rises[:, None]


def _summed(gains: Floats, keeps: Floats) -> Floats:
    """Sums d of d[i] = keeps[i] d[i - 1] + gains[i], by doubling: after each round, of twice as many steps."""
    reach = 1
    while reach < len(gains):
        gains[reach:] += keeps[reach:] * gains[:-reach]
        keeps[reach:] *= keeps[:-reach]
        reach *= 2
    return gains


def equilibrium(year: Year) -> Floats:
    """Moisture content at rest with the air of every instant, (N,).

    Frost and fog count as the nearest climate of the published range (-1.1 to 132.2 deg C, 5 to 95 % humidity);
    `keyaction.models.climate.guidance.remarks` tells of them.
    """
    return moisture_contents(year.temperature, year.humidity)


def moisture(year: Year, tau: float | Floats, first: float | Floats | None = None) -> Floats:
    """Moisture content of wood over a year.

    Parameters
    ----------
    year : Year
    tau : float or (M,) array
        Lags, s, 0 or more; an infinite one never follows: the wood stays where it was found, or, where the climate
        repeats itself, at the mean of the year.
    first : float or (M,) array, optional
        Where a climate that does not repeat itself (see `repeats`) finds the wood: as it was regulated. By default at
        rest with the air of its first instant. Where it does, the wood is where the years before it left it, and ends
        as it began.

    Returns
    -------
    (N,) or (M, N) array
        Water over oven-dry wood, by mass.

    Raises
    ------
    ValueError
        If a lag is below 0 or no number.
    """
    rest = equilibrium(year)
    if not repeats(year):
        return followed(rest, year.seconds, tau, rest[0] if first is None else first)
    around = np.append(rest, rest[0]), np.append(year.seconds, _period(year))
    lags = np.minimum(_lags(tau), _ENDLESS * around[1][-1])
    once = followed(*around, lags, rest[0])
    # A round takes the start x to a x + b; the start that a round leaves as it is, is b / (1 - a).
    slow = np.maximum(lags, 1.0)[:, None]  # what follows within a second is at rest when the round ends
    off = (once[:, -1:] - rest[0]) / -np.expm1(-around[1][-1] / slow)
    found: Floats = (once + off * np.exp(-around[1] / slow))[:, :-1]
    return found if np.ndim(tau) else found[0]


def repeats(year: Year) -> bool:
    """Whether a climate is met again and again: a whole year (330 days or more) over which its air changes.

    A shorter one (a hot week, a winter) and a steady one of any length are met once, by wood as it was regulated.
    """
    if len(year) < 2 or _period(year) < WHOLE_YEAR:
        return False
    return any(float(np.ptp(course)) > _STEADY for course in (year.temperature, year.humidity))


def _period(year: Year) -> float:
    """s from the first instant to where the climate begins anew: a step behind its last."""
    return float(year.seconds[-1] + np.median(np.diff(year.seconds)))
