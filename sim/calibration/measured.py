"""What was measured at one note, in blocks: figures of a sheet, feel curves, traces of strokes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from keyaction.models.notes import Naming, note_name
from keyaction.models.readings.courses import CHANNELS, Curve, Trace
from keyaction.models.readings.figures import BY_NAME
from keyaction.models.readings.readings import Readings
from keyaction.sim.calibration.odd_trace import odd_trace
from keyaction.sim.fitting.least import Floats

LEFT_OUT = ("level",)
"""Figures of a sheet that tell nothing of the unknowns: a level is a matter of nuts and felts."""
SILENT = ("ciphers", "hangs", "mute")
"""What a note may do so that its figures cannot be calibrated."""


@dataclass(frozen=True)
class Condition:
    """Under which circumstances a key was pressed.

    Attributes
    ----------
    wind : bool
    pressure : float
        In the box, Pa; NaN for that of the case.
    gauge : float
        Stiffness of what presses, N/m; NaN for that of the case.
    turn : float
        Key force at which the press turns, N; NaN for that of the case.
    """

    wind: bool = True
    pressure: float = math.nan
    gauge: float = math.nan
    turn: float = math.nan

    @property
    def same(self) -> tuple[str, ...]:
        """What makes two conditions one; NaN differs from itself."""
        return tuple(map(repr, (self.wind, self.pressure, self.gauge, self.turn)))


@dataclass(frozen=True)
class SheetBlock:
    """Figures of a sheet, all with the wind on or all without: names, values (n,), standard deviations (n,), SI."""

    figures: tuple[str, ...]
    values: Floats
    errors: Floats
    condition: Condition
    stated: bool = True

    @property
    def count(self) -> int:
        return len(self.figures)

    @property
    def words(self) -> str:
        """What it is."""
        told = ", ".join(BY_NAME[name].heading for name in self.figures)
        return f"{self.count} figures of a sheet ({told})"


@dataclass(frozen=True)
class CurveBlock:
    """One way of a feel curve: points (n, 2) of travel and force, rising in travel, and both standard deviations."""

    points: Floats
    errors: Floats
    down: bool
    condition: Condition
    stated: bool
    samples: int

    @property
    def count(self) -> int:
        return len(self.points)

    @property
    def words(self) -> str:
        way, wind = "down" if self.down else "up", "" if self.condition.wind else ", wind off"
        thin = f" (means of {self.samples} samples)" if self.samples > self.count else ""
        return f"{self.count} points of a feel curve on the way {way}{wind}{thin}"


@dataclass(frozen=True)
class TraceBlock:
    """What one channel of a trace holds: times and values (n,), and their standard deviations (n,)."""

    trace: Trace
    channel: str
    times: Floats
    values: Floats
    stated: bool
    errors: Floats

    @property
    def count(self) -> int:
        return len(self.times)

    @property
    def left(self) -> int:
        """Instants at its end that were read and are left out."""
        return len(self._read) - self.count

    @property
    def end(self) -> float:
        """Where it ends: the first instant that is left out, or the last, s."""
        return float(self._read[min(self.count, len(self._read) - 1)])

    @property
    def _read(self) -> Floats:
        return np.asarray(self.trace.time[np.isfinite(self.trace.values[self.channel])])

    @property
    def words(self) -> str:
        return f"{self.count} instants of {CHANNELS[self.channel][0]} in a stroke ({self.trace.driven})"


Block = SheetBlock | CurveBlock | TraceBlock


@dataclass(frozen=True)
class Measured:
    """All that was measured at one note.

    Attributes
    ----------
    note : int
    blocks : tuple of Block
    traces : tuple of Trace
        Those of which blocks are there, in order.
    said : tuple of str
        What must be known of it: what was left out, and why.
    """

    note: int
    blocks: tuple[Block, ...]
    traces: tuple[Trace, ...] = ()
    said: tuple[str, ...] = field(default=())

    @property
    def count(self) -> int:
        """Figures in all."""
        return sum(block.count for block in self.blocks)

    @property
    def stated(self) -> bool:
        """Whether the errors of all are known."""
        return all(block.stated for block in self.blocks)

    @property
    def curves(self) -> tuple[CurveBlock, ...]:
        return tuple(block for block in self.blocks if isinstance(block, CurveBlock))

    @property
    def figures(self) -> tuple[str, ...]:
        """Figures of sheets, in order."""
        return tuple(name for block in self.blocks if isinstance(block, SheetBlock) for name in block.figures)

    @property
    def words(self) -> str:
        """What there is, in a line."""
        return "; ".join(block.words for block in self.blocks)


def measured_at(
    note: int, sheets: Sequence[Readings], curves: Sequence[Curve], traces: Sequence[Trace], naming: Naming
) -> Measured:
    """What of all that was read belongs to one note."""
    blocks, said = list[Block](), list[str]()
    name = note_name(note, naming)
    for sheet in sheets:
        found, told = _of_sheet(sheet, note, name)
        blocks += found
        said += told
    for curve in (one for one in curves if one.note == note):
        blocks += _of_curve(curve)
        if curve.samples > len(curve.travel):
            said.append(f"{name}: {curve.samples} samples were drawn together to {len(curve.travel)} means")
    kept = tuple(one for one in traces if one.note == note)
    for trace in kept:
        blocks += _of_trace(trace)
        said += [f"{name}: {line}" for line in odd_trace(trace)]
    return Measured(note, tuple(blocks), kept, tuple(said))


def _of_sheet(sheet: Readings, note: int, name: str) -> tuple[list[Block], list[str]]:
    if note not in sheet.notes:
        return [], []
    said = list[str]()
    word = sheet.speech.get(note, "")
    if word in SILENT:
        told = f"{name} {'is mute' if word == 'mute' else word} on the sheet; its figures are left out: first diagnose"
        return [], [told]
    said += [
        f"{name}: readings of {BY_NAME[one.figure].heading} disagree; they count as no better than that"
        for one in sheet.disagreements
        if one.note == note
    ]
    figures = tuple(figure for figure in sheet.figures if figure not in LEFT_OUT)
    values, errors = sheet.values(figures, [note])[0], sheet.errors(figures, [note])[0]
    there = np.isfinite(values)
    if "level" in sheet.figures and np.isfinite(sheet.values(["level"], [note])[0, 0]):
        said.append(f"{name}: the level is left out; it is set by nuts and felts, see regulate")
    found = list[Block]()
    for wind in (True, False):
        chosen = [i for i in np.flatnonzero(there) if (BY_NAME[figures[i]].wind is not False) == wind]
        if chosen:
            names = tuple(figures[i] for i in chosen)
            where = Condition(wind, sheet.head.pressure if wind else math.nan)
            found.append(SheetBlock(names, values[chosen], errors[chosen], where))
    return found, said


def _of_curve(curve: Curve) -> list[Block]:
    travel_error, force_error = curve.errors()
    turn = float(np.max(curve.force))
    where = Condition(curve.wind, curve.pressure if curve.wind else math.nan, curve.gauge, turn)
    found = list[Block]()
    for down in (True, False):
        at = np.flatnonzero(curve.down == down)
        if not len(at):
            continue
        order = at[np.argsort(curve.travel[at], kind="stable")]
        errors = np.array([np.mean(travel_error[order]), np.mean(force_error[order])])
        points = np.column_stack([curve.travel[order], curve.force[order]])
        found.append(CurveBlock(points, errors, down, where, curve.stated, int(np.sum(curve.each[order]))))
    return found


def _of_trace(trace: Trace) -> list[Block]:
    return [_whole(trace, channel) for channel, values in trace.values.items() if np.any(np.isfinite(values))]


def _whole(trace: Trace, channel: str) -> TraceBlock:
    """All instants that were read of a channel."""
    there = np.isfinite(trace.values[channel])
    times, values = trace.time[there], trace.values[channel][there]
    return TraceBlock(
        trace, channel, times, values, channel in trace.errors, _first_errors(trace, channel, times, values)
    )


def _first_errors(trace: Trace, channel: str, times: Floats, values: Floats) -> Floats:
    """Standard deviations by what was read alone; two frames apart they do not see how sharply a motion turns."""
    speed = np.gradient(values, times) if len(times) > 1 else np.zeros(len(times))
    return np.asarray(np.hypot(trace.error(channel), speed * trace.frame / math.sqrt(12)))
