"""What to measure next: every measurement of a note that could be made, by how much narrower it would make intervals.

Nothing is measured for it: the slopes of what would be read, at the figures that were found, say how the covariance
would shrink (expected information; V. V. Fedorov, Theory of Optimal Experiments, 1972, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.models.algebra.names import Name
from keyaction.models.readings.courses import DIAL, LOAD_CELL, Trace
from keyaction.models.readings.figures import BALANCE, BY_NAME, RULER
from keyaction.models.train.train import Train
from keyaction.sim.calibration.asked import STEP
from keyaction.sim.calibration.found import Calibrated
from keyaction.sim.calibration.measured import Condition, Measured, SheetBlock, TraceBlock
from keyaction.sim.calibration.near import distances, line_of
from keyaction.sim.calibration.presses import Shown, missed, show
from keyaction.sim.calibration.traced import played
from keyaction.sim.calibration.weighed import weighed
from keyaction.sim.figures.record import Pressed
from keyaction.sim.fitting.least import Floats
from keyaction.sim.measuring.computed import pressed

POINTS = 20
"""Points of a way of a feel curve that is read by hand with a dial and a balance."""
CLAMPED = 2.0
"""N at the key of a press with the pallet clamped: travel is then compliance."""
_HOLDS = 30.0
"""Times the wind by which a clamped pallet is held."""
MANOMETER = 5.0
"""Pa: standard deviation of a water manometer, half a millimetre (common practice)."""
FRAMES = 240.0
"""Frames a second of a telephone's slow film (common practice)."""
FILMED = 0.12
"""s of a return that are read off."""
_MINUTES = {"ruler": 1.0, "balance": 2.0}
"""Minutes for one reading of one note (common practice)."""


@dataclass(frozen=True)
class Candidate:
    """A measurement that could be made.

    Attributes
    ----------
    name, tool : str
    minutes : float
        That it takes at one note (common practice).
    slopes : (n, p) array
        Of what would be read, over its errors, by the unknowns.
    """

    name: str
    tool: str
    minutes: float
    slopes: Floats


@dataclass(frozen=True)
class Ranked:
    """A candidate with what it would settle.

    Attributes
    ----------
    of : Candidate
    alone : float
        Share by which intervals would shrink, the mean over the unknowns, with this one measured next.
    together : float
        The same with all those before it in the list measured too.
    most : str
        The unknown whose interval would shrink most.
    half : float
        Half of its interval then, in the fit's own figure.
    """

    of: Candidate
    alone: float
    together: float
    most: str
    half: float


def candidates(found: Calibrated) -> list[Candidate]:
    """Everything that could be measured at the note, with its slopes at the figures that were found."""
    asked, space = found.asked, found.asked.space
    figures = found.found.values[: len(asked.of)]
    steps = STEP * space.scale[: len(asked.of)]
    steps = np.where(figures + steps > space.high[: len(asked.of)], -steps, steps)
    rows = [figures, *(figures + step * one for step, one in zip(steps, np.eye(len(figures)), strict=True))]
    trains = [asked.train(row) for row in rows]
    if any(train is None for train in trains):
        return []
    sound = [train for train in trains if train is not None]
    made = [*_pressed(found, sound, steps), *_clamped(found, sound, steps), *_returned(found, sound, steps)]
    made += _manometer(found)
    return [one for one in made if np.all(np.isfinite(one.slopes)) and np.any(one.slopes != 0.0)]


def _manometer(found: Calibrated) -> list[Candidate]:
    """The pressure in the box, where it is asked for."""
    shares = [one.kind.span / MANOMETER if one.name == "pressure" else 0.0 for one in found.asked.of]
    return [Candidate("pressure in the box", "manometer", 3.0, np.array([shares]))] if any(shares) else []


def ranked(found: Calibrated, most: int = 10) -> list[Ranked]:
    """The measurements that would settle most for the minutes that they take, one after the other.

    Each is chosen with those before it measured: what two of them would tell alike counts once.
    """
    base = _information(found)
    size = len(found.asked.of)
    left, chosen = candidates(found), list[Ranked]()
    now = base
    before = _deviations(base, size)
    while left and len(chosen) < most:
        gains = [_gain(now, one, size) / one.minutes for one in left]
        best = left.pop(int(np.argmax(gains)))
        now = now + _widened(best, len(base)).T @ _widened(best, len(base))
        alone = _deviations(base + _widened(best, len(base)).T @ _widened(best, len(base)), size)
        shrunk = 1 - alone / before
        k = int(np.argmax(shrunk))
        half = float(1.96 * alone[k] * found.asked.space.scale[k])
        together = float(np.mean(1 - _deviations(now, size) / before))
        chosen.append(Ranked(best, float(np.mean(shrunk)), together, found.asked.of[k].name, half))
    return chosen


def _information(found: Calibrated) -> Floats:
    """What is known now, in the unknowns' spans; a span is what was known before anything was measured."""
    slopes = found.found.jacobian * found.asked.space.scale
    return np.asarray(slopes.T @ slopes + np.eye(found.asked.size))


def _widened(one: Candidate, size: int) -> Floats:
    """Slopes with those by beginnings of strokes, which a new measurement does not have."""
    return np.pad(one.slopes, ((0, 0), (0, size - one.slopes.shape[1])))


def _deviations(information: Floats, size: int) -> Floats:
    return np.asarray(np.sqrt(np.diag(np.linalg.inv(information))[:size]))


def _gain(now: Floats, one: Candidate, size: int) -> float:
    wide = _widened(one, len(now))
    return float(np.mean(1 - _deviations(now + wide.T @ wide, size) / _deviations(now, size)))


def _by_steps(rows: Sequence[Floats], steps: Floats, scale: Floats) -> Floats:
    """Slopes by unknowns, in their spans, of what is shown at the figures and a step from each."""
    return np.column_stack(
        [(row - rows[0]) / step * one for row, step, one in zip(rows[1:], steps, scale, strict=True)]
    )


def _pressed(found: Calibrated, trains: Sequence[Train], steps: Floats) -> list[Candidate]:
    """Figures of the sheet and feel curves, with the wind on and off; both are read off the same presses."""
    made = list[Candidate]()
    for wind in (True, False):
        names = tuple(name for name, one in BY_NAME.items() if name != "level" and (one.wind is not False) == wind)
        errors = np.array([RULER if BY_NAME[name].tool == "ruler" else BALANCE for name in names])
        sheet = SheetBlock(names, np.zeros(len(names)), errors, Condition(wind))
        what = Measured(found.note, (sheet,))
        shown = show(trains, what, found.asked.case.strokes, found.asked.jobs)
        rows = [missed(sheet, one, what, ()) for one in shown]
        slopes = -_by_steps(rows, steps, found.asked.space.scale[: len(steps)])
        made += [
            Candidate(BY_NAME[name].heading, BY_NAME[name].tool, _MINUTES[BY_NAME[name].tool], slopes[i : i + 1])
            for i, name in enumerate(names)
        ]
        made += _curve(found, trains[0].dip, shown, steps, wind)
    return made


def _curve(found: Calibrated, dip: float, shown: Sequence[Shown], steps: Floats, wind: bool) -> list[Candidate]:
    """A feel curve by hand: its points lie on the curve as it was found."""
    errors = np.array([DIAL, LOAD_CELL])
    reads = [next(iter(one.presses.values())) for one in shown]
    if not all(isinstance(read, Pressed) for read in reads):
        return []
    pieces = []
    for down in (True, False):
        lines = [read.press.down if down else read.press.up for read in reads if isinstance(read, Pressed)]
        curves = [line_of(course) for course in lines]
        travel = np.linspace(0.02, 1.03, POINTS) * dip
        points = np.column_stack([travel, np.interp(travel, *curves[0].T)])
        pieces.append([distances(points, errors, curve) for curve in curves])
    rows = [np.concatenate(pair) for pair in zip(*pieces, strict=True)]
    slopes = -_by_steps(rows, steps, found.asked.space.scale[: len(steps)])
    name = "feel curve" if wind else "feel curve, wind off"
    return [Candidate(name, "dial, balance", 15.0, slopes)]


def _clamped(found: Calibrated, trains: Sequence[Train], steps: Floats) -> list[Candidate]:
    """Travel at 2 N with the pallet held: play and what gives."""
    held = [one for train in trains if (one := _held_shut(train)) is not None]
    if len(held) < len(trains):
        return []
    rows = []
    for read in pressed(held, found.asked.case.strokes, found.asked.jobs):
        if not isinstance(read, Pressed):
            return []
        down = read.press.down
        place = down.place("key_force", CLAMPED)
        rows.append(np.array([down.at(place, down.travel) / DIAL]))
    slopes = _by_steps(rows, steps, found.asked.space.scale[: len(steps)])
    return [Candidate("2 N, pallet clamped", "dial, weight", 5.0, slopes)]


def _held_shut(train: Train) -> Train | None:
    """The pallet held where it rests: by more wind, on a seat that is harder by as much; None of one in two pieces."""
    pallet, spring = train.role("pallet"), train.role("spring")
    names = [(pallet.name, what) for what in ("S_wind", "B", "K_seat")] + [(spring.name, "M0")]
    if any(Name(*name) not in train.parameters for name in names):
        return None
    swept, opens, seat, closes = (train.value(*name) for name in names)
    wind = train.box_pressure
    harder = (closes - opens + _HOLDS * swept * wind) / max(closes - opens + swept * wind, 1e-9)
    for box in (part for part in train.parts if part.role == "box"):
        train = train.with_parameter(Name(box.name, "p_box"), _HOLDS * wind, "clamped")
    return train.with_parameter(Name(pallet.name, "K_seat"), harder * seat, "clamped")


def _returned(found: Calibrated, trains: Sequence[Train], steps: Floats) -> list[Candidate]:
    """A film of the key let go from the bottom."""
    times = np.arange(0.0, FILMED, 1 / FRAMES)
    trace = Trace(found.note, times, {"key": np.zeros(len(times))}, "let go", rate=FRAMES)
    traced = [played(train, trace) for train in trains]
    if any(moved is None for moved in traced):
        return []
    block = TraceBlock(trace, "key", times, np.zeros(len(times)), True, np.ones(len(times)))
    what = weighed(Measured(found.note, (block,), (trace,)), Shown({}, (traced[0],)), [0.0])
    rows = [missed(what.blocks[0], Shown({}, (moved,)), what, [0.0]) for moved in traced]
    late = missed(what.blocks[0], Shown({}, (traced[0],)), what, [STEP * 0.01])
    slopes = -_by_steps(rows, steps, found.asked.space.scale[: len(steps)])
    shift = (late - rows[0])[:, None]
    known = shift / max(float(np.linalg.norm(shift)), math.ulp(1.0))
    slopes = slopes - known @ (known.T @ slopes)  # when the film begins is not known
    return [Candidate("film of the key let go", "telephone", 10.0, slopes)]
