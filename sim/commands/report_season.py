"""The year of a report: of cases with a frame, and of all where a climate is named."""

from __future__ import annotations

from collections.abc import Sequence

from keyaction.cases.action.case import Case
from keyaction.models.climate.year import Year
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.code.no_numba import NoNumba
from keyaction.sim.commands.console import tell
from keyaction.sim.seasons.season import DivisionSeason


def year_of_report(
    case: Case | None, notes: Sequence[int], year: Year | None, jobs: int
) -> tuple[DivisionSeason | None, DivisionSeason | None]:
    """A year of the notes of a case, and the same with all notes that hold its rail.

    Neither of one that says nothing of its seasons, unless a climate is named; nor, told, where Numba is missing.

    Parameters
    ----------
    case : Case or None
        None where a result does not carry one that can be read.
    notes : sequence of int
        Those on a floating rail are reckoned with all others that hold it.
    year : Year or None
        The climate of --climate.
    jobs : int
    """
    if case is None or (case.frame is None and year is None):
        return None, None
    try:
        need_numba()
    except NoNumba as problem:
        tell(f"note: no year in the report: {problem}")
        return None, None
    from keyaction.sim.commands.yearly import some, whole_of  # here, because few reports have one

    whole = whole_of(case, notes, year, jobs)
    return some(whole, notes), whole
