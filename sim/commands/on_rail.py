"""One line about notes on a floating rail: which state the figures of a command are of, and what the other gives."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence

from keyaction.cases.action.case import Case
from keyaction.models.notes import note_name
from keyaction.models.units.quantity import System
from keyaction.sim.commands.chosen import Subject
from keyaction.sim.commands.console import tell
from keyaction.sim.files.labelled import Result

PULLED = (
    "closing forces are of the pallets by themselves; what the floating rail's load pulls comes off them. The largest "
    "load with which all stay shut: `keyaction rail CASE`"
)


def on_rail(case: Case, notes: Sequence[int], units: System, jobs: int = 0, coupled: bool = False) -> str:
    """The line; empty of a case without a floating rail.

    Notes that couplers join are not pressed for it: single ones are no measure of a coupled key.
    """
    if case.frame is None or case.frame.rail is None or not notes:
        return ""
    from keyaction.sim.seasons.as_written import as_written  # here, because few cases have a rail
    from keyaction.sim.seasons.regulated import regulated_said

    return as_written(case, notes, units) if coupled else regulated_said(case, notes, units, jobs)


def rail_said(case: Case, notes: Sequence[int], units: System, jobs: int = 0) -> list[str]:
    """The line as a sentence among others, if there is one."""
    line = on_rail(case, notes, units, jobs)
    return [f"{line[0].upper()}{line[1:]}."] if line else []


def tell_rail(chosen: Iterable[Subject], units: System, jobs: int = 0) -> None:
    """Tell it of every division that is chosen."""
    found = list(chosen)
    for one in [*found, *_driven(found)]:
        if line := on_rail(one.case, one.notes, units, jobs, one.coupling is not None):
            _tell(one.division, line)


def tell_pulled(chosen: Iterable[Subject]) -> None:
    """Tell of divisions on a floating rail that closing forces are those of the pallets by themselves."""
    from keyaction.sim.seasons.as_written import rail_of

    for one in chosen:
        if rail_of(one.case):
            _tell(one.division, PULLED)


def _tell(division: str, line: str) -> None:
    """Tell a line of a case, or of a division, which the command that it advises has to name."""
    of = line.replace("rail CASE", f"rail CASE --division {division}") if division else line
    tell(f"note: {division}: {of}" if division else f"note: {of}")


def _driven(chosen: Sequence[Subject]) -> list[Subject]:
    """Divisions that are only driven, by couplers of those that are chosen."""
    found, played = dict[str, Subject](), {one.division for one in chosen}
    for one in chosen:
        for name in one.coupling.moved(one.division) if one.coupling else ():
            if name not in played:
                case = one.coupling.instrument.divisions[name]  # type: ignore[union-attr]  # it has one here
                found[name] = Subject(name, case, case.compass, one.coupling)
    return list(found.values())


def of_result(result: Result, units: System) -> str:
    """The line of a result, whatever made it, by levers alone."""
    if "rail" not in result.about.get("case_text", "") + json.dumps(result.about.get("case_settings", "")):
        return ""
    from keyaction.plots.report.case import case_of  # here, because it loads what most results do without
    from keyaction.sim.seasons.as_written import as_written

    case = case_of(result)
    if case is None:
        return ""
    notes = [note for note in case.compass if note_name(note, case.naming) in result.notes]
    return as_written(case, notes or case.compass, units)
