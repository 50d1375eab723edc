"""The work as steps in the trade's order: what, where, how much, in which sense, and what it does at the key."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.models.readings.figures import NAMES
from keyaction.models.units.names import STANDARD_GRAVITY
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.regulating.aims import Aims
from keyaction.sim.regulating.notes import FITTED
from keyaction.sim.regulating.plan import FRAME, Plan, Table, force_at_eye

SHOWN = ("level", "play", "dip", "lift", "point", "pluck")
"""Figures that are told of every move."""


@dataclass(frozen=True)
class Move:
    """One thing that is done at one note.

    Attributes
    ----------
    note : int
    stage : str
        Of `keyaction.sim.regulating.aims.STAGES`.
    kind, part : str
        What is changed, and at which part.
    amount : float
        As `keyaction.sim.measuring.knobs.KINDS` has it.
    turns : float
        Of a nut, looser above 0; NaN of others.
    before, after : mapping of str to float
        `SHOWN` as they stand before this move, and what they are after it by the slopes, SI.
    turn : mapping of str to float
        Of a nut what one turn looser does to each of them.
    forces : (float, float)
        Of a spring its force at the eye before and after, N.
    lead : float
        Of a spring the mass at the key front that does the same at the key, kg: above 0 more weight there.
    """

    note: int
    stage: str
    kind: str
    part: str
    amount: float
    turns: float
    before: Mapping[str, float]
    after: Mapping[str, float]
    turn: Mapping[str, float]
    forces: tuple[float, float] = (math.nan, math.nan)
    lead: float = math.nan


@dataclass(frozen=True)
class Common:
    """One move that many notes share.

    Attributes
    ----------
    stage, kind, part : str
    amount : float
        As `keyaction.sim.measuring.knobs.KINDS` has it; of the key frame m, higher above 0; of the pressure in Pa.
    from_to : (float, float)
        Of the pressure, Pa.
    change : mapping of str to float
        What it does to `SHOWN`, median over the notes.
    notes : int
        How many it reaches.
    place : str
        What carries them, where the case says so.
    """

    stage: str
    kind: str
    part: str
    amount: float
    change: Mapping[str, float]
    notes: int
    place: str = ""
    from_to: tuple[float, float] = (math.nan, math.nan)


@dataclass(frozen=True)
class Steps:
    """All work: what many notes share, and what is done at single ones, in the order of the stages."""

    commons: tuple[Common, ...]
    moves: tuple[Move, ...]

    def of(self, note: int) -> list[Move]:
        """What is done at one note, in order."""
        return [one for one in self.moves if one.note == note]

    @property
    def nuts(self) -> int:
        """How many single nuts are turned."""
        return sum(one.kind == "nut" for one in self.moves)


def steps(table: Table, work: Plan, figures: Floats, pressure: Common | None, place: str) -> Steps:
    """The work in the trade's order.

    Parameters
    ----------
    table : Table
    work : Plan
    figures : (n, figures) array
        As the notes stand when the pressure is right.
    pressure : Common, optional
        The step that sets it.
    place : str
        What carries pins of all notes and can be moved; empty where the case says nothing of it.
    """
    figures = figures.copy()
    first, last = _order(table, work)
    commons, moves = [pressure] if pressure else [], list[Move]()
    moves += [_move(table, i, "spring", "springs", work, figures) for i in _chosen(work, "spring")]
    if "nut" in first:
        commons.append(_common(table, "nut", "rail", work, place, figures))
    early = _early(table, work, figures)
    moves += [_move(table, i, "nut", "rail", work, figures) for i in early]
    nuts = [i for i in _chosen(work, "nut") if i not in early]
    for kind, stage in ((FRAME, "level"), ("rest", "level"), ("bottom", "dip")):
        if kind in work.common:
            commons.append(_common(table, kind, stage, work, "", figures))
        if kind != FRAME:
            moves += [_move(table, i, kind, stage, work, figures) for i in _chosen(work, kind)]
        if kind == "rest":
            moves += [_move(table, i, "nut", "level", work, figures) for i in nuts if table.hung[i]]
    if "nut" in last:
        commons.append(_common(table, "nut", "pluck point", work, place, figures))
    moves += [_move(table, i, "nut", "pluck point", work, figures) for i in nuts if not table.hung[i]]
    return Steps(tuple(commons), tuple(moves))


def _order(table: Table, work: Plan) -> tuple[Sequence[str], Sequence[str]]:
    """Whether all runs are set before the level or after it: not tighter before keys are given the play for it."""
    if "nut" not in work.common:
        return (), ()
    tighter = work.common["nut"] < 0.0
    play = table.state.bench.rise[:, :, NAMES.index("play")]
    others = [work.shown(kind, table.shares()) for kind in (FRAME, "rest") if kind in work.common]
    more = sum(float(np.median(np.sum(play * one, axis=1))) for one in others)
    return ((), ("nut",)) if tighter and more > 0.0 else (("nut",), ())


def _early(table: Table, work: Plan, figures: Floats) -> list[int]:
    """Nuts that are loosened before their keys are moved: these would take more play than there is."""
    play, k = table.state.bench.rise[:, :, NAMES.index("play")], FITTED.index("nut")
    shared = [work.shown(kind, table.shares()) for kind in (FRAME, "rest") if kind in work.common]
    total = np.where(np.array(FITTED) == "rest", work.single, 0.0) + sum(shared, np.zeros_like(work.single))
    left = figures[:, NAMES.index("play")] + np.sum(play * total, axis=1)
    pulls = (left < 0.0) & (work.single[:, k] > 0.0) & (np.any(total != 0.0, axis=1)) & ~table.hung
    return [int(i) for i in np.flatnonzero(pulls)]


def _chosen(work: Plan, kind: str) -> list[int]:
    return [int(i) for i in np.flatnonzero(work.single[:, FITTED.index(kind)])]


def _common(table: Table, kind: str, stage: str, work: Plan, place: str, figures: Floats) -> Common:
    bench, amounts = table.state.bench, work.shown(kind, table.shares())
    by = np.einsum("ik,ikf->if", amounts, bench.rise)
    reached = [i for i in range(len(bench.notes)) if np.any(amounts[i] != 0.0)]
    figures += by
    change = {name: float(np.median(by[reached, NAMES.index(name)])) for name in SHOWN}
    part = bench.knobs[reached[0]]["bottom" if kind == FRAME else kind].part
    return Common(stage, kind, part, work.common[kind], change, len(reached), place)


def _move(table: Table, i: int, kind: str, stage: str, work: Plan, figures: Floats) -> Move:
    bench, k = table.state.bench, FITTED.index(kind)
    amount, rise = float(work.single[i, k]), bench.rise[i, k]
    before = _shown(figures[i])
    figures[i] += amount * rise
    turns = amount / table.aims.pitch if kind == "nut" else math.nan
    turn = {name: float(table.aims.pitch * rise[NAMES.index(name)]) for name in SHOWN} if kind == "nut" else {}
    part, own = bench.knobs[i][kind].part, (bench.notes[i], stage, kind)
    if kind != "spring":
        return Move(*own, part, amount, turns, before, _shown(figures[i]), turn)
    one, found = force_at_eye(bench.trains[i]), float(table.state.amounts[i, k])
    forces = (one * (1.0 + found), one * (1.0 + found + amount))
    lead = -amount * float(rise[NAMES.index("hold")]) / STANDARD_GRAVITY
    return Move(*own, part, amount, turns, before, _shown(figures[i]), turn, forces, lead)


def _shown(row: Floats) -> dict[str, float]:
    return {name: float(row[NAMES.index(name)]) for name in SHOWN}


def pressure_step(found: float, wanted: float, aims: Aims, change: Sequence[float], notes: int) -> Common | None:
    """The step that sets the pressure, Pa; None where it is near enough. `change` is that of `SHOWN`."""
    if not abs(found - wanted) > aims.pressure:
        return None
    moved = dict(zip(SHOWN, change, strict=True))
    return Common("pressure", "pressure", "", wanted - found, moved, notes, from_to=(found, wanted))
