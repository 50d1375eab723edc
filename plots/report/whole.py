"""The page of an instrument: its divisions side by side, each leading to a report of its own."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path

import numpy as np
from jinja2 import Environment, StrictUndefined

from keyaction._version import __version__
from keyaction.cases.text.signs import without_unseen
from keyaction.models.units.quantity import System
from keyaction.plots.report.report import PAGE
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.coupled_sheets import weight_sheet
from keyaction.sim.figures.pallets import is_coupled
from keyaction.sim.files.folders import staged
from keyaction.sim.files.instrument_result import InstrumentResult
from keyaction.sim.files.labelled import Result
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value

_FIGURES = ("pluck_force", "friction_at_key", "effective_mass", "opening_delay", "repetition_rate")
"""What is told of each division: least and most over its notes."""
SHEET = "divisions"


def divisions_sheet(result: InstrumentResult, units: System) -> Sheet:
    """One row per division: its notes, and least and most of what is felt and heard."""
    figures = [name for name in _FIGURES if all(name in one for one in result.values())]
    columns = [Column("division", text=True), Column("action", text=True), Column("notes", text=True)]
    columns += [Column("played", places=0)]
    for name in figures:
        one = QUANTITIES[name]
        columns += [in_units(f"{one.label},\n{end}", one.unit, units) for end in ("least", "most")]
    rows = [[name, *_row(one, figures, units)] for name, one in result.items()]
    return Sheet(SHEET, "Divisions", columns, rows)


def _row(one: Result, figures: list[str], units: System) -> list[Cell]:
    played = float(np.sum(one["status"] == "ok"))
    cells: list[Cell] = [one.about.get("title", ""), f"{len(one.notes)}, {one.notes[0]} to {one.notes[-1]}", played]
    for name in figures:
        there = one[name][np.isfinite(one[name])]
        ends = (np.min(there), np.max(there)) if len(there) else (np.nan, np.nan)
        cells += [value(float(end), QUANTITIES[name].unit, units) for end in ends]
    return cells


def write_index(result: InstrumentResult, folder: Path, units: System = "trade") -> list[str]:
    """Write the page that leads to the divisions' reports, and its table as CSV.

    Parameters
    ----------
    result : InstrumentResult
    folder : Path
        In which each division's report lies in a folder of its name.
    units : {"trade", "si"}

    Returns
    -------
    list of str
        Names of the files.

    Raises
    ------
    keyaction.sim.files.problem.FileProblem
        When something cannot be written; then nothing is.
    """
    sheets = [divisions_sheet(result, units)]
    if any(is_coupled(one) for one in result.values()):
        sheets.append(weight_sheet(result, units))
    with staged(folder) as made:
        (made / PAGE).write_text(_page(result, sheets), encoding="utf-8")
        for sheet in sheets:
            (made / f"{sheet.name}.csv").write_text(sheet.csv(), encoding="utf-8")
        return sorted(path.name for path in made.iterdir())


def _page(result: InstrumentResult, sheets: Sequence[Sheet]) -> str:
    templates = files("keyaction.plots.report").joinpath("templates")
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    page = environment.from_string(templates.joinpath("index.html").read_text(encoding="utf-8")).render(
        title=result.title or "Instrument",
        description=result.about.get("description", ""),
        version=__version__,
        style=templates.joinpath("report.css").read_text(encoding="utf-8"),
        sheets=sheets,
        page=PAGE,
    )
    return without_unseen(page)
