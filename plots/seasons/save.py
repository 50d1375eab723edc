"""Pictures of a year as files."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from keyaction.models.notes import file_name
from keyaction.models.units.quantity import System
from keyaction.plots.seasons.compass_year import compass_year
from keyaction.plots.seasons.note_year import note_year
from keyaction.plots.seasons.rail_struck import courses_of, rail_struck
from keyaction.plots.seasons.rail_year import rail_year
from keyaction.plots.style.files import Draw, Progress, write_pictures
from keyaction.sim.figures.stand_for import standing_for
from keyaction.sim.seasons.season import DivisionSeason

if TYPE_CHECKING:
    from keyaction.sim.floating.struck import Struck


def usual_notes(season: DivisionSeason) -> list[int]:
    """Rows of the notes that get a picture of their own: at most three that stand for the compass, and the worst.

    The worst is the first that sounds unplayed; where none does, none is added.
    """
    notes = list(season.notes.values())
    rows = standing_for([one.note for one in notes], [not one.failed for one in notes])
    sounding = [row for row, one in enumerate(notes) if one.cipher >= 0]
    worst = min(sounding, key=lambda row: notes[row].cipher, default=None)
    return sorted({*rows, *([] if worst is None else [worst])})


def drawings(season: DivisionSeason, rows: Sequence[int], units: System) -> Iterator[tuple[str, Draw]]:
    """File names with what draws them."""
    yield "year-compass.png", lambda: compass_year(season, units)
    if season.rail:
        yield "year-rail.png", lambda: rail_year(season, units)
    notes = list(season.notes.values())
    for row in rows:
        yield f"year-{file_name(notes[row].note)}.png", lambda row=row: note_year(season, notes[row].name, units)  # type: ignore[misc]


def save_season(
    season: DivisionSeason,
    folder: Path,
    notes: Sequence[int] | None = None,
    units: System = "trade",
    progress: Progress | None = None,
) -> list[Path]:
    """Draw a year and write the pictures as PNG files, each whole or not at all.

    Parameters
    ----------
    season : DivisionSeason
    folder : Path
        Made if it is not there; pictures of the same name are replaced.
    notes : sequence of int, optional
        Notes with pictures of their own; by default `usual_notes`.
    units : {"trade", "si"}
    progress : callable, optional
        Called after every picture.

    Returns
    -------
    list of Path
        ``year-compass.png``, ``year-rail.png`` where a rail floats, and for each note ``year-NOTE.png``.

    Raises
    ------
    OSError
        If the folder or a picture cannot be written; the message names it.
    """
    known = list(season.notes)
    rows = usual_notes(season) if notes is None else [known.index(note) for note in notes]
    return write_pictures(Path(folder), list(drawings(season, rows, units)), progress)


def save_rail(
    season: DivisionSeason, folder: Path, struck: Struck | None = None, units: System = "trade"
) -> list[Path]:
    """Draw a division's rail over the year, and under struck notes, into a folder; otherwise as `save_season`.

    Returns
    -------
    list of Path
        ``year-rail.png``, and ``rail-struck.png`` where notes were struck.
    """
    found: list[tuple[str, Draw]] = [("year-rail.png", lambda: rail_year(season, units))]
    if struck is not None:
        about = {"title": season.case.title, "division": season.division, "case_name": season.case.path.name}
        found.append(("rail-struck.png", lambda: rail_struck(courses_of(struck), about, units)))
    return write_pictures(Path(folder), found)
