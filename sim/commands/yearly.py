"""What the commands of a year share: the climate that is named, years of the divisions that are chosen."""

from __future__ import annotations

import argparse
from collections.abc import Collection, Iterator
from dataclasses import replace
from pathlib import Path

from keyaction.cases.action.case import Case
from keyaction.cases.seasons.climate_file import read_climate
from keyaction.models.climate.year import Year
from keyaction.models.units.quantity import UnitProblem, parse_quantity
from keyaction.sim.commands.chosen import Choice
from keyaction.sim.commands.progress import progress
from keyaction.sim.files.folders import refuse_unusable
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.seasons.engine import seasons
from keyaction.sim.seasons.season import DivisionSeason


def climate_of(options: argparse.Namespace) -> Year | None:
    """The climate that --climate names; None leaves it to the case.

    Raises
    ------
    keyaction.CaseProblem
        With every defect of the file.
    """
    return read_climate(options.climate) if options.climate is not None else None


def length(option: str, text: str, low: float, high: float) -> tuple[float, list[str]]:
    """A length that an option gives, m, and what is wrong with it."""
    try:
        found = parse_quantity(text, "m")
    except UnitProblem as problem:
        return low, [f"{option}: {problem}"]
    if not low <= found <= high:
        return low, [f"{option} {text}: must be {1e3 * low:g} mm to {1e3 * high:g} mm"]
    return found, []


def wrong_jobs(options: argparse.Namespace) -> list[str]:
    """What is wrong with --jobs."""
    return [] if options.jobs >= 0 else [f"--jobs {options.jobs}: must be 0 (one per core) or more"]


def wrong_folder(folder: Path | None, option: str) -> Iterator[str]:
    """A folder for pictures that is none."""
    if folder == Path():
        yield f"{option}: name a folder"
    elif folder:
        try:
            refuse_unusable(folder, option)
        except FileProblem as problem:
            yield str(problem)


def years(choice: Choice, year: Year | None, jobs: int, whole: bool = False) -> list[DivisionSeason]:
    """The year of every division that is chosen.

    Parameters
    ----------
    choice : Choice
    year : Year or None
    jobs : int
    whole : bool
        Whether notes that are not wanted are reckoned with as well; those on a floating rail always are, since all
        hold it.
    """
    with progress("a year", len(choice.chosen)) as bar:
        found = []
        for one in choice:
            found.append(year_of(one.case, one.notes, year, jobs, whole))
            bar.step(one.title)
    return found


def year_of(
    case: Case, notes: Collection[int], year: Year | None = None, jobs: int = 0, whole: bool = False
) -> DivisionSeason:
    """The year of some notes of a case; the rest as of `years`."""
    season = whole_of(case, None if whole else notes, year, jobs)
    return season if whole else some(season, notes)


def whole_of(case: Case, notes: Collection[int] | None, year: Year | None = None, jobs: int = 0) -> DivisionSeason:
    """The year of some notes of a case, or of all, and of all others that hold its rail."""
    floats = case.frame is not None and case.frame.rail is not None and not case.frame.rail.fixed
    return seasons(case, year, None if notes is None or floats else sorted(notes), jobs)


def some(season: DivisionSeason, notes: Collection[int]) -> DivisionSeason:
    """A year with some of its notes alone; the rail stands as all hold it."""
    return replace(season, notes={note: one for note, one in season.notes.items() if note in notes})
