"""What tolerances do, as sheets for the terminal and as CSV."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np

from keyaction.cases.study.spans import Deviation
from keyaction.cases.study.spreads import Uncertain
from keyaction.models.notes import Naming, note_name
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.tables.sheet import NONE, Cell, Column, Sheet, in_units, value
from keyaction.sim.tolerances.coupled import Coupled
from keyaction.sim.tolerances.figures import BY_NAME, FIGURES, KeyFigure
from keyaction.sim.tolerances.full import ENOUGH
from keyaction.sim.tolerances.sensitivity import Sensitivity
from keyaction.sim.tolerances.tolerances import Tolerances

SHOWN = ("pluck", "point", "hold")
"""Figures whose columns a terminal shows unless others are asked for."""
TOP = 12
"""Rows that a terminal shows."""
WIDE_EVEN, WIDE_NORMAL = 2.0 * math.sqrt(3.0), 4.0
"""Standard deviations in the full width of a tolerance: from end to end, or in which 95 % of a normal one lie."""


def of_compass(found: Sensitivity, figure: str) -> tuple[Floats, Floats]:
    """Common and own part of each tolerance over the compass, (tolerances,): root of the mean square over the notes."""
    _, common, own = found.of(figure)
    there = found.has(figure)
    if not np.any(there):
        nothing = np.full(len(found.doubts), np.nan)
        return nothing, nothing
    return np.sqrt(np.mean(common[there] ** 2, axis=0)), np.sqrt(np.mean(own[there] ** 2, axis=0))


def ranking(found: Sensitivity, figures: Sequence[str]) -> list[int]:
    """Tolerances by the largest share of the variance that they make of any of some figures."""
    shares = np.zeros(len(found.doubts))
    for figure in figures:
        common, own = of_compass(found, figure)
        squares = np.nan_to_num(common) ** 2 + np.nan_to_num(own) ** 2
        shares = np.maximum(shares, squares / max(float(np.sum(squares)), 1e-300))
    return [int(k) for k in np.argsort(-shares, kind="stable")]


def size_told(deviation: Deviation | None, unit: str, units: System) -> str:
    """How large a part of a tolerance is, as people write it."""
    if deviation is None or not deviation.size:
        return NONE
    size = format_value(deviation.size, "1" if deviation.factor else unit or "1", units, digits=2)
    size = f"{100 * deviation.size:.2g} %" if deviation.factor else size
    return f"±{size}" if deviation.even else size


def _parts(one: Uncertain) -> tuple[Deviation | None, Deviation | None]:
    return one.common, one.pieces[0].deviation if one.pieces else None


def _times(one: Uncertain, full: bool) -> tuple[float, float]:
    """What a standard deviation's effect is multiplied by, of the common and the own part."""
    if not full:
        return 1.0, 1.0
    common, own = (WIDE_EVEN if part is not None and part.even else WIDE_NORMAL for part in _parts(one))
    return common, own


def effects_sheet(found: Sensitivity, figures: Sequence[str], units: System, full: bool, rows: int = TOP) -> Sheet:
    """What every tolerance does to some figures over the compass: common and own part each.

    Parameters
    ----------
    found : Sensitivity
    figures : sequence of str
    units : {"trade", "si"}
    full : bool
        Of the full width of each tolerance in place of one standard deviation.
    rows : int
        How many are shown, those first that do most to any of the figures.
    """
    shown = [BY_NAME[name] for name in figures]
    columns = [Column("tolerance", text=True), Column("all\nnotes", text=True), Column("each\nnote", text=True)]
    for one in shown:
        columns += [_column(one, f"{one.heading}\nall", units), _column(one, "\neach", units)]
    parts = {one.name: of_compass(found, one.name) for one in shown}
    table = []
    for k in ranking(found, figures)[:rows]:
        doubt = found.doubts[k]
        times = _times(doubt, full)
        row: list[Cell] = [doubt.name, *(size_told(part, doubt.target.field.unit, units) for part in _parts(doubt))]
        for one in shown:
            row += [value(times[i] * parts[one.name][i][k], one.unit, units) for i in (0, 1)]
        table.append(row)
    what = "its full width (from end to end; 95 % of a normal one)" if full else "one standard deviation"
    note = (
        f"What {what} of each tolerance does; all: what all notes share, each: each note's own; root of the mean "
        "square over the notes. Sizes are standard deviations; ±: even between two ends."
    )
    total = len(found.doubts)
    title = f"Sensitivities: {min(rows, total)} of {total} tolerances, those that do most"
    return Sheet("sensitivities", title, columns, table, note)


def _column(one: KeyFigure, heading: str, units: System) -> Column:
    made = in_units(heading, one.unit, units, one.places)
    return Column(heading, made.unit, made.places)


def notes_sheet(found: Sensitivity, naming: Naming, units: System, full: bool) -> Sheet:
    """Every figure of every note against every tolerance, for a CSV file."""
    figures = [one for one in FIGURES if np.any(found.has(one.name))]
    columns = [Column("note", text=True), Column("tolerance", text=True)]
    columns += [Column("all notes", text=True), Column("each note", text=True)]
    for one in figures:
        label = in_units("", one.unit, units).unit
        columns += [Column(f"{one.heading}, {part}", label) for part in ("all notes", "each note")]
    columns.append(Column("source", text=True))
    table = []
    for i, note in enumerate(found.notes):
        for k, doubt in enumerate(found.doubts):
            times = _times(doubt, full)
            row: list[Cell] = [note_name(note, naming), doubt.name]
            row += [size_told(part, doubt.target.field.unit, units) for part in _parts(doubt)]
            for one in figures:
                _, common, own = found.of(one.name)
                row += [value(times[0] * common[i, k], one.unit, units), value(times[1] * own[i, k], one.unit, units)]
            table.append([*row, doubt.spread.told])
    return Sheet("sensitivities", "What every tolerance does to every figure of every note", columns, table)


def scatter_sheet(found: Sensitivity, naming: Naming, units: System) -> Sheet:
    """Figures of every note and how far each scatters in all: values, common and own standard deviations."""
    figures = [one for one in FIGURES if np.any(found.has(one.name))]
    columns = [Column("note", text=True)]
    for one in figures:
        label = in_units("", one.unit, units).unit
        columns += [Column(one.heading, label)]
        columns += [Column(f"{one.heading}, deviation {part}", label) for part in ("all notes", "each note")]
    table = []
    for i, note in enumerate(found.notes):
        row: list[Cell] = [note_name(note, naming)]
        for one in figures:
            values, common, own = found.of(one.name)
            sds = [math.sqrt(float(np.sum(part[i] ** 2))) for part in (common, own)]
            row += [value(values[i], one.unit, units), *(value(sd, one.unit, units) for sd in sds)]
        table.append(row)
    return Sheet("scatter", "Figures and their standard deviations", columns, table)


def steps_sheet(made: Tolerances, naming: Naming, units: System) -> Sheet:
    """Every step between neighbours: as drawn, its spread, and how often it is beyond the limit."""
    line, drawn = made.line, made.worths.drawn
    full = made.full_steps if made.full_steps and made.full_steps.count >= ENOUGH else None
    relative = line.figure.relative
    unit = "%" if relative else in_units("", line.figure.unit, units).unit
    columns = [
        Column("from", text=True), Column("to", text=True), Column("as\ndrawn", unit, 1 if relative else 2),
        Column("standard\ndeviation", unit, 1 if relative else 2), Column("beyond,\nformula", "%", 1),
        Column("beyond,\ndrawn", "%", 1), Column("beyond,\nin full", "%", 0),
    ]  # fmt: skip
    sds, beyond = np.sqrt(np.sum(line.variances, axis=1)), line.beyond()
    table = []
    for row, (low, high) in enumerate(line.pairs.tolist()):
        names = [note_name(int(line.notes[k]), naming) for k in (low, high)]
        sizes = [
            100 * size if relative else value(size, line.figure.unit, units) for size in (line.drawn[row], sds[row])
        ]
        counted = [100 * float(one.pairs[row]) if one else math.nan for one in (drawn.all if drawn else None, full)]
        table.append([*names, *sizes, 100 * float(beyond[row]), *counted])
    return Sheet("steps", f"Steps of the {line.figure.heading} between neighbours", columns, table)


def worth_sheet(made: Tolerances, rows: int = TOP) -> Sheet:
    """What half of each tolerance and twice it do to the share of steps beyond the limit."""
    drawn = made.worths.drawn
    usual = drawn.all.share if drawn else math.nan
    columns = [
        Column("tolerance", text=True), Column("of the\nvariance", "%", 1), Column("half:\nformula", "points", 1),
        Column("half:\ndrawn", "points", 1), Column("twice:\nformula", "points", 1),
        Column("twice:\ndrawn", "points", 1),
    ]  # fmt: skip
    table: list[list[Cell]] = []
    for one in made.worths.ranked[:rows]:
        halved, doubled = (
            100 * (each.share - usual) if each else math.nan for each in (one.halved_drawn, one.doubled_drawn)
        )
        table.append([one.name, 100 * one.part, 100 * one.halved, halved, 100 * one.doubled, doubled])
    note = (
        "Change of the share of steps beyond the limit, in points of a hundred, with half the tolerance and with twice "
        "it; formula: all normal, to first order; drawn: each part in its own form, the closest ones only."
    )
    return Sheet("worth", "Which tolerance is worth paying for", columns, table, note)


def stagger_sheet(made: Tolerances, naming: Naming, units: System, rows: Iterable[int] | None = None) -> Sheet:
    """How far pluck points scatter, and what is left of a stagger beside a like note of another division."""
    columns = [
        Column("note", text=True), in_units("plucks\nat", "m", units, 2), in_units("all\nnotes", "m", units, 2),
        in_units("each\nnote", "m", units, 2), Column("order,\nbuilt", "%", 0), Column("half,\nbuilt", "%", 0),
        Column("order,\nset", "%", 0), Column("half,\nset", "%", 0),
    ]  # fmt: skip
    wanted = None if rows is None else set(rows)
    table: list[list[Cell]] = []
    for one in made.points:
        if wanted is not None and one.note not in wanted:
            continue
        ways = [value(way, "m", units) for way in (one.point, one.common, one.own)]
        shares = [100 * share for share in (one.built.order, one.built.half, one.regulated.order, one.regulated.half)]
        table.append([note_name(one.note, naming), *ways, *shares])
    told = format_value(made.asked.stagger, "m", units)
    note = (
        f"Two like notes of different divisions, their plucks set {told} apart: how often their order is kept, and "
        "half of the distance. Built: nothing regulated; set: what all notes share is regulated out, each note's own "
        "is left."
    )
    return Sheet("stagger", "What is left of a stagger", columns, table, note)


def coupled_sheet(found: Sequence[Coupled], naming: Naming, units: System, stagger: float) -> Sheet:
    """What a stagger of coupled plucks is worth under scatter."""
    columns = [
        Column("coupler", text=True), Column("note", text=True), in_units("play", "m", units, 2),
        in_units("peak,\ntogether", "N", units, 0), in_units("peak,\napart", "N", units, 0),
        in_units("saves,\nmean", "N", units, 1), in_units("95 %\ntogether", "N", units, 0),
        in_units("95 %\napart", "N", units, 0), Column("order\nkept", "%", 0), Column("half\nkept", "%", 0),
        Column("off by", "%", 0),
    ]  # fmt: skip
    table: list[list[Cell]] = []
    for one in (one for one in found if not one.reason):
        (order, off), (half, more) = one.left(0.0), one.left(stagger / 2)
        forces = [float(one.peaks[0]), float(one.peaks[1]), one.saved[0], one.peak(0), one.peak(1)]
        shares = [100 * order, 100 * half, 100 * max(off, more)]
        row: list[Cell] = [one.coupler, note_name(one.note, naming), value(float(one.plays[1]), "m", units)]
        table.append([*row, *(value(force, "N", units) for force in forces), *shares])
    told = format_value(stagger, "m", units)
    draws = max((len(one.apart) for one in found), default=0)
    note = (
        f"Peaks with the plucks as near as they come, and {told} apart; then {draws} full draws of what each note and "
        "its coupler have of their own: what the stagger saves, peaks that 95 % stay below, how often the order and "
        "half of the distance are kept; off by: a standard error."
    )
    return Sheet("coupled", "Staggered couplers under scatter", columns, table, note)
