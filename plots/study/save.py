"""All pictures of a study that its plan allows, as files."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from keyaction.models.units.quantity import System
from keyaction.plots.study.morris import morris_scatter
from keyaction.plots.study.parallel import parallel_coordinates
from keyaction.plots.study.pareto import pareto_scatter
from keyaction.plots.study.sobol import sobol_bars
from keyaction.plots.study.surface import response_surfaces
from keyaction.plots.study.tornado import tornado
from keyaction.plots.style.files import Draw, write_pictures
from keyaction.sim.analysis.pareto import Sense
from keyaction.sim.analysis.view import StudyView
from keyaction.sim.files.labelled import Result


def drawings(
    result: Result, note: str, quantities: Sequence[str] | None, senses: Mapping[str, Sense], units: System
) -> dict[str, Draw]:
    """File names with what draws them, of the pictures that the study's plan allows."""
    plan = StudyView(result).plan
    found: dict[str, Draw] = {"tornado.png": lambda: tornado(result, note, quantities, units)}
    if plan == "sobol":
        found["sobol.png"] = lambda: sobol_bars(result, note, quantities)
    if plan == "morris":
        found["morris.png"] = lambda: morris_scatter(result, note, quantities, units)
    if plan != "one-at-a-time":
        found["surfaces.png"] = lambda: response_surfaces(result, note, quantities, units=units)
        found["designs.png"] = lambda: parallel_coordinates(result, note, quantities, units)
    if len(senses) > 1:
        found["pareto.png"] = lambda: pareto_scatter(result, note, senses, units)
    return found


def save_study(
    result: Result,
    folder: Path,
    note: str,
    quantities: Sequence[str] | None = None,
    senses: Mapping[str, Sense] | None = None,
    units: System = "trade",
) -> list[Path]:
    """Draw a study and write the pictures as PNG files, each whole or not at all.

    Parameters
    ----------
    result : Result
    folder : Path
        Made if it is not there; pictures of the same name are replaced.
    note : str
    quantities : sequence of str, optional
        By default those of the study, at most six.
    senses : mapping of name to {"min", "max"}, optional
        Quantities, or inputs, of a Pareto front.
    units : {"trade", "si"}

    Returns
    -------
    list of Path
        ``tornado.png`` and, where the plan allows, ``sobol.png``, ``morris.png``, ``surfaces.png``, ``designs.png``,
        ``pareto.png``.

    Raises
    ------
    KeyError, NotInStudy
        If the study does not hold the note, a quantity or an input.
    OSError
        If the folder or a picture cannot be written; the message names it.
    """
    found = drawings(result, note, quantities, senses or {}, units)
    return write_pictures(Path(folder), list(found.items()))
