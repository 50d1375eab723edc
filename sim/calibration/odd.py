"""What is odd about feel curves and traces before anything is fitted to them: `of_other_case`, `odd_curves`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.models.notes import note_name
from keyaction.models.readings.courses import Curve, Trace
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.calibration.asked import Asked
from keyaction.sim.calibration.measured import CurveBlock
from keyaction.sim.calibration.presses import curve_of, show
from keyaction.sim.figures.record import Pressed
from keyaction.sim.fitting.least import Floats
from keyaction.sim.measuring.noticed import ALIKE, NEAR, SLIPS, case_pressure, other_case

_COLUMNS = (("travel", "m", "mm"), ("force", "N", "gf"))
NEARER = 3.0
"""Times by which the other state of the wind lies nearer to what was measured, so that it is told."""


def of_other_case(courses: Sequence[Curve | Trace], case: Case) -> list[str]:
    """That curves or traces say they are of another case or division, each sentence once."""
    said = dict[str, None]()
    for one in courses:
        what = f"The {'curve' if isinstance(one, Curve) else 'trace'} of {note_name(one.note, case.naming)}"
        said |= dict.fromkeys(other_case(one.head, case, what))
    return list(said)


def of_other_pressure(courses: Sequence[Curve | Trace], case: Case, units: System = "trade") -> list[str]:
    """Curves and traces that were measured at another pressure than the case's, each sentence once."""
    has, said = case_pressure(case), dict[str, None]()
    for one in courses:
        if one.wind and abs(one.pressure - has) > ALIKE * has:  # NaN of one that does not say it is no other
            what = f"The {'curve' if isinstance(one, Curve) else 'trace'} of {note_name(one.note, case.naming)}"
            stood, its = (format_value(pressure, "Pa", units) for pressure in (one.pressure, has))
            told = f"{what} was measured at {stood}, and the case has {its}: it is computed at its own {stood}."
            said |= dict.fromkeys([told])
    return list(said)


def odd_curves(asked: Asked, units: System = "trade") -> list[str]:
    """Columns of a note's feel curves that are off by the factor of a unit, and curves of the other state of the wind.

    Parameters
    ----------
    asked : Asked
    units : {"trade", "si"}

    Returns
    -------
    list of str
        A sentence for each column: what stands there, what the case as it is drawn shows, and which unit would do it.
        Ways are compared at their ends, forces in the middle. Where no unit is wrong, a sentence for the first
        curve that lies three times nearer to the case with the wind in the other state.
    """
    (shown,) = asked.shown([asked.start])
    if shown is None:
        return []
    slips: dict[str, str] = {}
    for block in asked.measured.curves:
        read = shown.presses[block.condition.same]
        if isinstance(read, Pressed):
            for column, words in _slips(block, _pressed_way(curve_of(block, read)), units):
                slips.setdefault(column, words)
    name = note_name(asked.measured.note, asked.case.naming)
    return [f"{name}: {words}" for words in (slips.values() or _winds(asked, units))]


def _pressed_way(line: Floats) -> Floats:
    """A model's way without what lies before and beyond the press."""
    return line[2:-1]


def _slips(block: CurveBlock, line: Floats, units: System) -> Iterator[tuple[str, str]]:
    for (column, unit, trade), (read, drawn) in zip(_COLUMNS, _compared(block, line), strict=True):
        for slip, factor in SLIPS[unit]:
            if drawn > 0.0 and abs(read / drawn / factor - 1.0) < NEAR:
                stands, expected = (format_value(one, unit, units) for one in (read, drawn))
                words = f"under {column} stands {stands} where {expected} is computed"
                yield column, f"{words}: {slip} written in a column of {trade}?"
                break


def _compared(block: CurveBlock, line: Floats) -> tuple[tuple[float, float], tuple[float, float]]:
    """Deepest travel and median force, measured and of the model at as many places along its own way."""
    bottom = float(line[-1, 0])
    drawn = np.interp(np.linspace(0.0, bottom, block.count + 2)[1:-1], line[:, 0], line[:, 1])
    travel, force = block.points.T
    return (float(np.max(travel)), bottom), (float(np.median(force)), float(np.median(drawn)))


def _winds(asked: Asked, units: System) -> Iterator[str]:
    """The first curve that lies nearer to the case with the wind in the other state, by its greatest force."""
    train = asked.train(asked.start)
    for block in asked.measured.curves:
        other = replace(block, condition=replace(block.condition, wind=not block.condition.wind))
        both = [replace(asked.measured, blocks=(one,), traces=()) for one in (block, other)]
        reads = [
            show([train], one, asked.case.strokes, asked.jobs)[0].presses[one.curves[0].condition.same]
            for one in both
            if train is not None
        ]
        if len(reads) < 2 or not all(isinstance(read, Pressed) for read in reads):
            continue
        own, its = (_pluck(_pressed_way(curve_of(block, read))) for read in reads if isinstance(read, Pressed))
        measured = _pluck(block.points[np.argsort(block.points[:, 0])])
        if NEARER * abs(measured - its) < abs(measured - own):
            states = ("off", "on") if block.condition.wind else ("on", "off")
            figures = [format_value(one, "N", units) for one in (measured, its, own)]
            yield (
                f"measured with the wind {states[0]}, where the file says {states[1]}? The greatest force of the first "
                f"half of the way is {figures[0]}; with it {states[0]} {figures[1]} is computed, with it {states[1]} "
                f"{figures[2]}."
            )
            return


def _pluck(line: Floats) -> float:
    """The greatest force in the first half of a way, where the bottom does not yet press."""
    return float(np.max(line[line[:, 0] <= 0.5 * line[-1, 0], 1], initial=0.0))
