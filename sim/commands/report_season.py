"""The year of a report: of all cases, where --seasons or --climate asks for it."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from keyaction.cases.action.case import Case
from keyaction.models.climate.year import Year
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.seasons.season import DivisionSeason


def wants_year(options: argparse.Namespace) -> bool:
    """Whether seasonal sheets are asked for.

    Raises
    ------
    keyaction.NoNumba
        If they are, and Numba is missing.
    """
    asked = bool(options.seasons or options.climate is not None)
    if asked:
        need_numba()
    return asked


def year_of_report(
    case: Case | None, notes: Sequence[int], year: Year | None, jobs: int
) -> tuple[DivisionSeason | None, DivisionSeason | None]:
    """A year of the notes of a case, and the same with all notes that hold its rail.

    Parameters
    ----------
    case : Case or None
        None where a result does not carry one that can be read: there is no year then.
    notes : sequence of int
        Those on a floating rail are reckoned with all others that hold it.
    year : Year or None
        The climate of --climate; None takes the case's.
    jobs : int
    """
    if case is None:
        return None, None
    from keyaction.sim.commands.yearly import some, whole_of  # here, because few reports have one

    whole = whole_of(case, notes, year, jobs)
    return some(whole, notes), whole
