"""The sheets of a calibration: what was found, what to measure next, and what was measured beside the model."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.models.notes import Naming, file_name, note_name
from keyaction.models.readings.courses import CHANNELS
from keyaction.models.readings.figures import BY_NAME
from keyaction.models.units.quantity import System, convert
from keyaction.sim.calibration.found import Calibrated
from keyaction.sim.calibration.measured import Block, CurveBlock, SheetBlock
from keyaction.sim.calibration.next import Ranked
from keyaction.sim.calibration.presses import curve_of, figures_of
from keyaction.sim.calibration.telling import end_words, value_words
from keyaction.sim.calibration.traced import in_frames
from keyaction.sim.figures.record import Pressed
from keyaction.sim.fitting.least import Floats
from keyaction.sim.tables.sheet import Cell, Column, Sheet, value


def found_sheet(found: Sequence[Calibrated], naming: Naming, units: System) -> Sheet:
    """The unknowns of every note, with their intervals."""
    columns = (
        Column("note", text=True),
        Column("unknown", text=True),
        Column("case", text=True),
        Column("found", text=True),
        Column("95 % from", text=True),
        Column("to", text=True),
    )
    rows = [
        [note_name(one.note, naming), what.of.name, value_words(what, what.of.start, units), *_found(one, i, units)]
        for one in found
        for i, what in enumerate(one.values)
    ]
    note = "poor: the model does not have what was measured; its intervals do not hold"
    return Sheet("calibrated", "What was found", columns, rows, note if any(one.poor for one in found) else "")


def _found(one: Calibrated, i: int, units: System) -> list[Cell]:
    what = one.values[i]
    if what.interval is None:
        return [f"({value_words(what, what.figure, units)})", "not told", ""]
    return [value_words(what, what.figure, units), *end_words(what, units)]


def next_sheet(one: Calibrated, ranked: Sequence[Ranked], naming: Naming) -> Sheet:
    """What to measure next at a note."""
    columns = (
        Column("measurement", text=True),
        Column("tool", text=True),
        Column("time", "min", places=0),
        Column("alone", "%", places=0, full="intervals narrower by, alone"),
        Column("with all\nabove", "%", places=0, full="intervals narrower by, with all above"),
        Column("settles", text=True, full="settles most"),
    )
    rows: list[list[Cell]] = [
        [r.of.name, r.of.tool, r.of.minutes, 100 * r.alone, 100 * r.together, r.most] for r in ranked
    ]
    told = "By how much narrower the 95 % intervals become, the mean over the unknowns; minutes are common practice."
    name = note_name(one.note, naming)
    return Sheet(
        f"next-{file_name(one.note)}", f"What to measure next at {name}, most for its time first", columns, rows, told
    )


def correlations_sheet(one: Calibrated, naming: Naming) -> Sheet:
    """Correlations of the unknowns of one note."""
    names = [what.of.name for what in one.values]
    size = len(names)
    columns = [Column("", text=True), *(Column(name, places=2) for name in names)]
    shown = one.spread.correlations[:size, :size]
    rows: list[list[Cell]] = [[name, *(float(x) for x in row)] for name, row in zip(names, shown, strict=True)]
    title = f"Correlations, {note_name(one.note, naming)}"
    return Sheet(f"correlations-{file_name(one.note)}", title, columns, rows)


@dataclass(frozen=True)
class Course:
    """One block beside the model.

    Attributes
    ----------
    block : Block
    at : (n,) array
        Travel (m) or time (s); numbers of the figures of a sheet.
    measured, model, missed : (n,) array
        SI, and the residual over its error, at its level.
    line : (m, 2) array
        The model over the whole course; empty of a sheet.
    """

    block: Block
    at: Floats
    measured: Floats
    model: Floats
    missed: Floats
    line: Floats


def courses(one: Calibrated) -> Iterator[Course]:
    """Every block of what was measured at a note, beside the model."""
    start = 0
    for block in one.measured.blocks:
        missed = one.found.residuals[start : start + block.count]
        start += block.count
        model: Floats
        if isinstance(block, CurveBlock):
            read = one.shown.presses[block.condition.same]
            line = curve_of(block, read) if isinstance(read, Pressed) else np.zeros((0, 2))
            at, measured = block.points.T
            model = np.interp(at, *line.T) if len(line) else np.full(len(at), math.nan)
            yield Course(block, at, measured, model, missed, line)
        elif isinstance(block, SheetBlock):
            model = figures_of(block, one.shown.presses[block.condition.same])
            yield Course(block, np.arange(block.count, dtype=np.float64), block.values, model, missed, np.zeros((0, 2)))
        else:
            i = one.measured.traces.index(block.trace)
            moved, instant = one.shown.traced[i], one.instants[i]
            if moved is None:
                continue
            time, values = moved.course(block.channel)
            model = in_frames(block, moved, instant)[0]
            line = np.column_stack([time + instant, values])
            yield Course(block, block.times, block.values, model, missed, line)


def fit_sheet(found: Sequence[Calibrated], naming: Naming, units: System) -> Sheet:
    """Every figure that was measured, beside the model."""
    columns = (
        Column("note", text=True),
        Column("what", text=True),
        Column("at"),
        Column("measured"),
        Column("model"),
        Column("unit", text=True),
        Column("residual over its error", places=2),
    )
    rows: list[list[Cell]] = []
    for one in found:
        for course in courses(one):
            rows += [[note_name(one.note, naming), *row] for row in _rows(course, units)]
    return Sheet("fit", "What was measured beside the model", columns, rows)


def _rows(course: Course, units: System) -> Iterator[list[Cell]]:
    block = course.block
    for i in range(block.count):
        at: Cell = math.nan
        if isinstance(block, SheetBlock):
            about = BY_NAME[block.figures[i]]
            what, unit = about.heading, about.unit
        elif isinstance(block, CurveBlock):
            way, wind = "down" if block.down else "up", "" if block.condition.wind else ", wind off"
            what, unit, at = f"force, {way}{wind}", "N", value(course.at[i], "m", units)
        else:
            what, unit, _ = CHANNELS[block.channel]
            at = value(course.at[i], "s", units)
        both = (value(one[i], unit, units) for one in (course.measured, course.model))
        yield [what, at, *both, _label(unit, units), float(course.missed[i])]


def _label(unit: str, units: System) -> str:
    return convert(1.0, unit, units)[1]
