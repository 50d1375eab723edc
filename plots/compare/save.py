"""A comparison's folder: its figures as one file, its sheets as CSV, its pictures."""

from __future__ import annotations

from pathlib import Path

from matplotlib.figure import Figure

from keyaction.models.units.quantity import System
from keyaction.plots.compare.budgets import compared_budgets
from keyaction.plots.compare.compass import compared_compass
from keyaction.plots.compare.feel import compared_feel
from keyaction.plots.style.page import DPI
from keyaction.sim.compare.sheets import all_sheets
from keyaction.sim.compare.store import FIGURES
from keyaction.sim.files.folders import staged
from keyaction.sim.files.hdf5 import save
from keyaction.sim.files.labelled import Result


def pictures(result: Result, units: System) -> dict[str, Figure]:
    """The pictures of a comparison by file name, without its ending."""
    note = str(result["curve_note"][0])
    found = {"feel": compared_feel(result, units), "compass": compared_compass(result, units)}
    return found | ({"budgets": compared_budgets(result, note, units)} if note in result.notes else {})


def save_comparison(result: Result, folder: Path, units: System = "trade") -> list[str]:
    """Write a comparison into a folder, all of it or nothing.

    Parameters
    ----------
    result : Result
        From `keyaction.sim.compare.compare.compare`.
    folder : Path
        Made if it is not there; files of the same name are replaced.
    units : {"trade", "si"}
        Of the sheets and pictures; the figures' file is in SI.

    Returns
    -------
    list of str
        Names of the files: ``compare.h5``, a CSV file for each sheet, a PNG file for each picture.

    Raises
    ------
    FileProblem
        When something cannot be written.
    """
    sheets, drawn = all_sheets(result, units), pictures(result, units)
    with staged(folder) as made:
        save(result, made / FIGURES)
        for sheet in sheets:
            (made / f"{sheet.name}.csv").write_text(sheet.csv(), encoding="utf-8")
        for name, figure in drawn.items():
            figure.savefig(made / f"{name}.png", format="png", dpi=DPI)
        return sorted(path.name for path in made.iterdir())
