"""How much of what: level, dip, play and springs to their aims, common adjusters first, then the fewest notes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from keyaction.models.readings.figures import NAMES
from keyaction.models.train.train import Train
from keyaction.models.units.names import STANDARD_GRAVITY
from keyaction.sim.measuring.knobs import together
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.regulating.aims import FELT, SINGLE, Aims
from keyaction.sim.regulating.fewest import Band, Flags, enough, shared, singles
from keyaction.sim.regulating.notes import FITTED
from keyaction.sim.regulating.state import State

FRAME = "frame"
"""The key frame as a common adjuster (`keyaction.sim.measuring.knobs.together`)."""
WAYS = ("nut", "rest", "bottom")
"""Kinds of change that are turned, laid in or taken out."""
MOVES = 0.3
"""Of a change at the key's own way, from which a kind of change is taken to move a figure."""
HALF = 0.5
"""Of the notes, from which more than that many found without play have a common move rounded up."""
GRAM = 1e-3 * STANDARD_GRAVITY
"""N: springs are set by force at the eye to the gram."""


@dataclass(frozen=True)
class Plan:
    """Work on all notes.

    Attributes
    ----------
    common : mapping of str to float
        By kind, the move that all notes share; of `FRAME` m by which the key frame is raised.
    single : (n, kinds) array
        What each note is changed beside it.
    springs_off : float
        Share by which all springs are off together, and are left.
    hinted : tuple of str
        Kinds of which a move for all would do, had enough notes been read.
    frame : (n, kinds) array, optional
        What raising the key frame comes to at each note.
    datum : float
        How far above the level that is drawn the straightedge seems to have lain, m: what all levels share and no other
        figure does. Nothing is moved for it.
    """

    common: dict[str, float]
    single: Floats
    springs_off: float = 0.0
    hinted: tuple[str, ...] = ()
    frame: Floats | None = None
    datum: float = 0.0

    def total(self, shares: Floats) -> Floats:
        """Amounts of all work (n, kinds); `shares` says which notes a common move of each kind reaches."""
        every = np.array([self.common.get(kind, 0.0) for kind in FITTED])
        return np.asarray(self.single + shares * every + (0.0 if self.frame is None else self.frame))

    def shown(self, kind: str, shares: Floats) -> Floats:
        """Amounts (n, kinds) of the common move of one kind alone."""
        if kind == FRAME and self.frame is not None:
            return self.frame
        k = FITTED.index(kind)
        return np.asarray(np.where(np.arange(len(FITTED)) == k, shares * self.common[kind], 0.0))


@dataclass(frozen=True)
class Table:
    """What a plan is made from.

    Attributes
    ----------
    state : State
    drawn : (n, figures) array
        What each note is to be, at the pressure of the case; the level is 0.
    work : (n,) array of bool
        Notes at which something may be turned.
    counts : (n,) array of bool
        Notes that say something of what all share: those, and some at which a cause is to be found first.
    aims : Aims
    division : int
        How many notes there are, read or not.
    """

    state: State
    drawn: Floats
    work: Flags
    counts: Flags
    aims: Aims
    division: int

    def rise(self, kind: str, figure: str) -> Floats:
        """How a figure of each note rises with a kind."""
        return np.asarray(self.state.bench.rise[:, FITTED.index(kind), NAMES.index(figure)])

    @property
    def hung(self) -> Flags:
        """Notes whose level follows the nut."""
        return np.asarray(np.abs(self.rise("rest", "level")) < MOVES)

    def shares(self) -> Floats:
        """Which notes a common move of each kind reaches, (n, kinds)."""
        has = [[float(kind in own) for kind in FITTED] for own in self.state.bench.knobs]
        return np.array(has).reshape(-1, len(FITTED))

    @cached_property
    def lifts(self) -> Floats:
        """What each note is changed per m by which the key frame is raised, (n, kinds); 0 of a key that hangs."""
        each = [{one.kind: by for one, by in together(train, "frame")} for train in self.state.bench.trains]
        return np.array([[one.get(kind, 0.0) for kind in FITTED] for one in each]).reshape(-1, len(FITTED))

    def grain(self) -> Floats:
        """m of a nut's way that it is turned by: quarter turns, finer where these move the key by more than it may."""
        each = np.maximum(np.abs(self.rise("nut", "level")), np.abs(self.rise("nut", "play")))
        parts = np.full(len(each), float(SINGLE))
        while np.any(coarse := (self.aims.pitch / parts * each > self.aims.level) & (parts < 64)):
            parts = np.where(coarse, parts * 2, parts)
        return np.asarray(self.aims.pitch / parts)

    def play_band(self) -> tuple[Floats, Floats]:
        """Least and most play of every note: as common practice has it, or as drawn."""
        drawn, usual = self.drawn[:, NAMES.index("play")], [self.aims.play(not hung) for hung in self.hung]
        low, high = np.array(usual).reshape(-1, 2).T
        return np.fmin(low, drawn - self.aims.level), np.fmax(high, drawn + self.aims.level)


def plan(table: Table, figures: Floats, spare: bool = True, frame: float = 0.0, datum: float = 0.0) -> Plan:
    """The work that brings notes from some figures to their aims.

    Parameters
    ----------
    table : Table
    figures : (n, figures) array
        As the notes stand.
    spare : bool
        Whether common moves are looked for, springs too, and neighbours held against each other; else only what is
        out of its tolerance is set right.
    frame : float
        By which the key frame is raised first, m.
    datum : float
        How far the line that levels were read from lies above the one that is drawn, m.
    """
    made = _Making(table, figures.copy(), spare)
    made.figures[:, NAMES.index("level")] += datum
    if frame:
        made.raise_frame(frame)
    made.level()
    made.dip()
    made.play()
    springs_off = made.springs() if spare else 0.0
    return Plan(made.common, made.single, springs_off, tuple(made.hinted), made.frame if frame else None, datum)


class _Making:
    """A plan that is being made: figures follow every step."""

    def __init__(self, table: Table, figures: Floats, spare: bool) -> None:
        self.table, self.figures, self.spare = table, figures, spare
        self.common: dict[str, float] = {}
        self.single = np.zeros((len(figures), len(FITTED)))
        self.hinted: list[str] = []
        self.frame = np.zeros_like(self.single)

    def raise_frame(self, by: float) -> None:
        """Keys, pins and bottom together."""
        self.common[FRAME], self.frame = by, by * self.table.lifts
        self.figures += np.einsum("ik,ikf->if", self.frame, self.table.state.bench.rise)

    def level(self) -> None:
        """Keys to the line: hung ones by their nuts, balanced ones where they rest."""
        hung, read = self.table.hung, self._shows("level")
        off = self._column("level")
        for kind, there in (("nut", hung), ("rest", ~hung)):
            self._set(kind, "level", np.where(there & read, off, np.nan), -self.table.aims.level, self.table.aims.level)

    def dip(self) -> None:
        """The dip as drawn, by what lies on the bottom."""
        off = np.where(self._shows("dip"), self._column("dip") - self._drawn("dip"), np.nan)
        self._set("bottom", "dip", off, -self.table.aims.dip, self.table.aims.dip)

    def play(self) -> None:
        """Play of balanced keys, which sets the depth of the pluck; too little lift is too much play as well."""
        moves = np.abs(self.table.rise("nut", "play")) > MOVES
        drawn, (low, high) = self._drawn("play"), self.table.play_band()
        off = np.where(self._shows("play") & moves & ~self.table.hung, self._play() - drawn, np.nan)
        high = np.fmin(high - drawn, np.fmax(off + self._spare_lift(), 0.0))
        high = np.where(self._mute(), np.fmin(high, self.table.aims.level), high)
        step = self.table.aims.point if self._depth_read() else np.inf
        self._set("nut", "play", off, low - drawn, high, step, self._tight())

    def _depth_read(self) -> bool:
        """Whether anything but the play was read: of play alone none is turned that is within its own tolerance."""
        read = np.isfinite(self.table.state.read)
        return bool(np.any(np.delete(read, NAMES.index("play"), axis=1)))

    def _spare_lift(self) -> Floats:
        """Play (m) that takes the lift down to the least that is kept: below 0 with too little; endless if unknown."""
        spare = self._column("lift") - self.table.aims.lift * self._drawn("lift")
        nut = self.table.rise("nut", "lift")
        way = np.abs(self.table.rise("nut", "play")) / np.where(nut == 0.0, np.nan, np.abs(nut))
        return np.nan_to_num(np.where(self._shows("lift"), spare * way, np.inf), nan=np.inf, posinf=np.inf)

    def springs(self) -> float:
        """Springs whose pluck stands out; what all share is left, where that is wanted."""
        state, aims = self.table.state, self.table.aims
        told = self.table.work & state.tells("spring") & ~self._mute()
        off = np.where(told, state.amount("spring"), np.nan)
        gain = self.table.rise("spring", "pluck") / self._drawn("pluck")
        reach = aims.even / np.where(gain > 0.0, gain, np.nan)
        within = Band(-reach, reach, aims.even, gain)
        shift = shared(off, within)
        if aims.springs == "drawn":
            return self._bend(off, off != 0.0 if shift else singles(off, within), 0.0)
        return self._bend(off, singles(off, within, shift), shift)

    def _bend(self, off: Floats, chosen: Flags, shift: float) -> float:
        trains, k = self.table.state.bench.trains, FITTED.index("spring")
        for i in np.flatnonzero(chosen & np.isfinite(off)):
            one = force_at_eye(trains[i])
            wanted = round(one * (1.0 + shift) / GRAM) * GRAM
            self.single[i, k] = wanted / one - (1.0 + off[i])
        return shift

    def _set(
        self,
        kind: str,
        figure: str,
        off: Floats,
        low: Floats | float,
        high: Floats | float,
        step: float = np.inf,
        full: Flags | None = None,
    ) -> None:
        """Bring a figure to its aim: the common move, then single ones; all other figures follow.

        At notes that are `full` an amount is rounded up: what was read of them is an end, not a middle.
        """
        full = np.zeros(len(off), dtype=bool) if full is None else full
        rise, k = self.table.rise(kind, figure), FITTED.index(kind)
        safe = np.where(rise == 0.0, np.nan, rise)
        ends = np.sort(
            np.stack([np.broadcast_to(low, off.shape) / safe, np.broadcast_to(high, off.shape) / safe]), axis=0
        )
        within, amounts = Band(ends[0], ends[1], step if self.spare else np.inf, rise), off / safe
        shift = shared(amounts, within) / FELT if self.spare else 0.0
        told = full[np.isfinite(amounts)]
        shift = FELT * (np.floor(shift) if len(told) and np.mean(told) > HALF else round(shift))
        if shift and not enough(int(np.isfinite(amounts).sum()), self.table.division):
            self.hinted.append(kind)
            shift = 0.0
        grain = self.table.grain() if kind == "nut" else np.full(len(off), FELT)
        chosen = singles(amounts, within, shift)
        way = (shift - amounts) / grain
        wanted = np.where(chosen, np.where(full, np.ceil(way), np.round(way)) * grain, 0.0)
        moved = np.where(self.table.work, np.nan_to_num(wanted), 0.0)
        self.single[:, k] += moved
        if shift:
            self.common[kind] = self.common.get(kind, 0.0) - shift
            moved = moved - shift * self.table.shares()[:, k]
        self.figures += moved[:, None] * self.table.state.bench.rise[:, k, :]

    def _column(self, figure: str) -> Floats:
        return np.asarray(self.figures[:, NAMES.index(figure)])

    def _drawn(self, figure: str) -> Floats:
        return np.asarray(self.table.drawn[:, NAMES.index(figure)])

    def _shows(self, figure: str) -> Flags:
        return np.asarray(self.table.counts & self.table.state.shows(figure))

    def _mute(self) -> Flags:
        return np.array([word == "mute" for word in self.table.state.speech])

    def _tight(self) -> Flags:
        """Notes at which a feeler found no play: it says no less, however tight the run is."""
        return np.asarray(self.table.state.read[:, NAMES.index("play")] < MOVES * FELT) & self.spare

    def _play(self) -> Floats:
        """Play; below nothing where a run is too tight, as the amounts have it: a feeler reads no less than 0."""
        play = self._column("play")
        if not self.spare:
            return play
        ways = [FITTED.index(kind) for kind in WAYS]
        work = Plan(self.common, self.single, frame=self.frame).total(self.table.shares())
        rise = self.table.state.bench.rise[:, ways, NAMES.index("play")]
        straight = self._drawn("play") + np.sum(rise * (self.table.state.amounts + work)[:, ways], axis=1)
        tight = self._tight() | (self.table.state.figures[:, NAMES.index("play")] < MOVES * FELT)
        direct = self.table.state.read[:, NAMES.index("play")] + np.sum(rise * work[:, ways], axis=1)
        return np.where(tight, np.fmin(np.fmin(play, straight), direct), play)


def force_at_eye(train: Train) -> float:
    """Force of a note's spring at the eye of its pallet as drawn, pallet shut, N."""
    return train.value(train.role("spring").name, "M0") / train.value(train.role("pallet").name, "r_eye")
