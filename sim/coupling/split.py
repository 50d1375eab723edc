"""The play that splits the peaks best against the lift that it costs."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from scipy.optimize import brentq, minimize_scalar

from keyaction.sim.coupling.setting import WIDEST, Bench, Setting
from keyaction.sim.figures.limits import FULL

NEAR = 0.02
"""Share by which the peak may stand above the lowest that can be reached: a third of what a finger can tell."""
LEAST_PLAY = 3e-4
"""m of play that is left in any case; common practice: couplers are set with 0.3 to 0.5 mm, so that none is drawn tight
when the wood moves."""
LEAST_LIFT = 0.9
"""Share of its lift, as the driven key itself gives it, that a coupler leaves to a pallet; common practice."""
KEPT_SHARE = 0.99
"""Of the groove's share when the driven key itself is pressed, where that is below 90 % already."""
FIRST_STEP = 5e-4
"""m by which the play is first widened in search of what the lift allows; doubled from there."""
PLACES = 8
"""Plays at which the peak is looked at between the least and what the lift allows, closer together at the least."""
FINE = 5e-6
"""m to which a play is searched."""
AGREES = 2e-5
"""m of key travel by which plucks may miss what is asked; farther off, the driven pallet ceases to open before that."""
ROUNDS = 7
"""Plays that are tried between the two steps beside the lowest peak that was seen."""
FLAT = 0.005
"""Share by which a peak may differ from its neighbour for what lies between to be flat."""
GRID = 1e-5
"""m to which a play is set."""


@dataclass(frozen=True)
class Own:
    """A pallet with the driven key itself pressed to the bottom: lift (m) and share of the wind in its groove."""

    lift: float
    share: float


@dataclass(frozen=True)
class Wishes:
    """What the play of a coupler is to keep.

    Attributes
    ----------
    least_lift : float
        Of each pallet that the coupler moves: a share of its lift when the driven key itself is pressed where
        `of_own`, else m.
    of_own : bool
    least_play : float
        m.
    near : float
        Share by which the peak may stand above the lowest that can be reached.

    Raises
    ------
    ValueError
        When the lift is not above 0 (a share of it: above 1 as well), play or nearness below 0, the play above 20 mm.
    """

    least_lift: float = LEAST_LIFT
    of_own: bool = True
    least_play: float = LEAST_PLAY
    near: float = NEAR

    def __post_init__(self) -> None:
        lift = self.least_lift > 0.0 and (self.least_lift <= 1.0 or not self.of_own)
        if not (lift and 0.0 <= self.least_play <= WIDEST and self.near >= 0.0):
            raise ValueError(f"{self}: least_lift above 0, a share up to 1; least_play 0 to {WIDEST} m; near from 0")

    def lift(self, own: Own) -> float:
        """The least lift of a pallet, m."""
        return self.lift_of(own.lift)

    def lift_of(self, own: float) -> float:
        """The least lift of a pallet that its own key lifts so far, m."""
        return self.least_lift * own if self.of_own else self.least_lift

    def share(self, own: Own) -> float:
        """The least share of the wind in its groove: 90 %, or nearly what the driven key itself gives if less."""
        return min(FULL, KEPT_SHARE * own.share) if math.isfinite(own.share) else -math.inf


@dataclass(frozen=True)
class Split:
    """A play and why it is that.

    Attributes
    ----------
    play : float
        m; NaN where no play keeps what is wished.
    why : str
        "peak" where the smallest play is taken at which the peak is near the lowest, "lift" where the lift allows no
        more while the peak still falls, "least" where the least play does.
    lowest : float
        The lowest peak within what the lift allows, N.
    widest : float
        The largest play that the lift allows, m.
    """

    play: float
    why: str
    lowest: float
    widest: float


def spare(setting: Setting, own: Mapping[str, Own], wishes: Wishes) -> float:
    """What the scarcest driven pallet keeps beyond what is wished, as a share of it; below 0 where it lacks that."""
    found = [math.inf]
    for pallet, one in own.items():
        for has, wants in ((setting.lifts[pallet], wishes.lift(one)), (setting.shares[pallet], wishes.share(one))):
            if wants > 0.0 and math.isfinite(has):
                found.append(has / wants - 1.0)
    return min(found)


def split(bench: Bench, alone: Bench, own: Mapping[str, Own], wishes: Wishes) -> Split:
    """Find the smallest play at which the highest peak is near the lowest that the wished lift allows.

    Parameters
    ----------
    bench : Bench
        With which peaks are found: those that were set before drawn.
    alone : Bench
        With which lifts are: none drawn that holds the same pallets open, for the coupler must do without.
    own : mapping of str to Own
        Of every pallet that the coupler moves.
    wishes : Wishes

    Raises
    ------
    keyaction.sim.figures.play.NotPlayed
        When the equilibria at some play cannot be followed.
    """
    least = wishes.least_play
    if spare(alone.at(least), own, wishes) < 0.0:
        return Split(math.nan, "", math.nan, math.nan)
    widest = _widest(alone, own, wishes)
    plays = [least + (widest - least) * (i / PLACES) ** 2 for i in range(PLACES + 1)]
    lowest = _lowest(lambda play: bench.at(play).peak, plays)
    goal = (1.0 + wishes.near) * lowest
    at = next((i for i, play in enumerate(plays) if bench.at(play).peak <= goal), PLACES)
    if at == 0:
        return Split(least, "least", lowest, widest)
    found = _crossing(lambda play: bench.at(play).peak - goal, plays[at - 1], plays[at])
    play = round(min(math.ceil(found / GRID - 1e-6), math.floor(widest / GRID + 1e-6)) * GRID, 9)
    still = bench.at(plays[-2]).peak > goal
    return Split(max(play, least), "lift" if still else "peak", lowest, widest)


def _widest(bench: Bench, own: Mapping[str, Own], wishes: Wishes) -> float:
    """The largest play that keeps what is wished."""
    kept, step = wishes.least_play, FIRST_STEP
    while kept < WIDEST:
        tried = min(kept + step, WIDEST)
        if spare(bench.at(tried), own, wishes) < 0.0:
            return _crossing(lambda play: spare(bench.at(play), own, wishes), kept, tried)
        kept, step = tried, 2 * step
    return WIDEST


def below_least(alone: Bench, own: Mapping[str, Own], wishes: Wishes) -> float:
    """Where the least play is too much and none is not: the largest play that keeps what is wished, m."""
    return _crossing(lambda play: spare(alone.at(play), own, wishes), 0.0, wishes.least_play)


def _crossing(of: Callable[[float], float], low: float, high: float) -> float:
    """Where a figure passes zero between two plays."""
    return float(brentq(of, low, high, xtol=FINE)) if of(low) * of(high) <= 0.0 else high


def _lowest(peak: Callable[[float], float], plays: list[float]) -> float:
    """The lowest peak over these plays and between them."""
    peaks = [peak(play) for play in plays]
    at = min(range(len(plays)), key=lambda i: peaks[i])
    a, b = plays[max(at - 1, 0)], plays[min(at + 1, len(plays) - 1)]
    if max(peak(a), peak(b)) <= (1.0 + FLAT) * peaks[at] or at == len(plays) - 1:
        return peaks[at]
    found = minimize_scalar(peak, bounds=(a, b), method="bounded", options={"maxiter": ROUNDS, "xatol": FINE})
    return min(*peaks, float(found.fun))


def staggered(bench: Bench, own: str, driven: str, apart: float) -> float:
    """The play at which the driven pallet opens a key travel after the played key's own, m.

    NaN where it does so later than that with no play at all, or never.

    Parameters
    ----------
    bench : Bench
    own, driven : str
        The pallets.
    apart : float
        Key travel, m.
    """

    def beyond(play: float) -> float:
        found = bench.at(play).after(driven, own)
        return found - apart if math.isfinite(found) else WIDEST

    low, high = 0.0, FIRST_STEP
    if beyond(low) > 0.0:
        return math.nan
    while beyond(high) < 0.0:
        if high >= WIDEST:
            return math.nan
        low, high = high, min(2 * high, WIDEST)
    found = _crossing(beyond, low, high)
    return found if abs(beyond(found)) < AGREES else math.nan
