"""All pictures of a result as files."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from keyaction.models.notes import file_name
from keyaction.models.units.quantity import System
from keyaction.plots.compass.budget_compass import budgets_compass
from keyaction.plots.compass.coupled_compass import coupled_compass
from keyaction.plots.compass.keyboard import semitones
from keyaction.plots.compass.over_compass import compass
from keyaction.plots.note.budget import budgets
from keyaction.plots.note.feel import feel_curve
from keyaction.plots.note.motion import stroke
from keyaction.plots.note.path import stroke_path
from keyaction.plots.style.files import Draw, Progress, write_pictures
from keyaction.sim.figures.pallets import has_pallets
from keyaction.sim.figures.stand_for import standing_for
from keyaction.sim.files.labelled import Result

OF_COMPASS = {"compass": compass, "budgets": budgets_compass}
"""File's name and function of the pictures of all notes."""
OF_COUPLED = {"coupled": coupled_compass}
"""The same of results whose keys open several pallets."""
OF_NOTE = {"feel": feel_curve, "stroke": stroke, "path": stroke_path, "budget": budgets}
"""Beginning of the file's name, and function, of the pictures of one note."""


def usual_notes(result: Result) -> list[str]:
    """At most three notes that stand for the compass: its lowest, middle and highest C, or note where it has no C.

    Notes that failed are passed over as long as others can stand for them.
    """
    rows = standing_for(semitones(result), [str(status) == "ok" for status in result["status"]])
    return [result.notes[row] for row in rows]


def _drawings(result: Result, notes: Sequence[str], units: System) -> Iterator[tuple[str, Draw]]:
    """File names with what draws them."""
    for name, draw in {**OF_COMPASS, **(OF_COUPLED if has_pallets(result) else {})}.items():
        yield f"{name}.png", lambda draw=draw: draw(result, units)  # type: ignore[misc]
    for note in notes:
        plain = file_name(semitones(result)[result.index(note)])
        for name, sketch in OF_NOTE.items():
            yield f"{name}-{plain}.png", lambda sketch=sketch, note=note: sketch(result, note, units)  # type: ignore[misc]


def save_all(
    result: Result,
    folder: Path,
    notes: Sequence[str] | None = None,
    units: System = "trade",
    progress: Progress | None = None,
) -> list[Path]:
    """Draw a result and write the pictures as PNG files, each whole or not at all.

    Parameters
    ----------
    result : Result
    folder : Path
        Made if it is not there; pictures of the same name are replaced.
    notes : sequence of str, optional
        Notes that get pictures of their own; by default `usual_notes`.
    units : {"trade", "si"}
    progress : callable, optional
        Called after every picture.

    Returns
    -------
    list of Path
        ``compass.png``, ``budgets.png``, ``coupled.png`` where keys open several pallets, and for each note ``feel-``,
        ``stroke-``, ``path-`` and ``budget-NOTE.png``.

    Raises
    ------
    KeyError
        If the result does not hold one of the notes; then nothing is written.
    OSError
        If the folder or a picture cannot be written; the message names it.
    """
    drawings = list(_drawings(result, usual_notes(result) if notes is None else notes, units))
    return write_pictures(Path(folder), drawings, progress)
