"""One line beside what a command proposes for an action that is historic."""

from __future__ import annotations

from keyaction.cases.action.case import Case
from keyaction.sim.commands.console import out
from keyaction.sim.commands.sheet_tables import paragraph
from keyaction.sim.measuring.historic import told_of


def tell_historic(case: Case, work: str, *roles: str) -> None:
    """Say what a piece of work means where parts of such roles are historic; nothing where they are not.

    Parameters
    ----------
    case : Case
    work : str
        A key of `keyaction.models.historic.works.WORKS`.
    *roles : str
        Roles of parts that it is done to, such as "spring".
    """
    if case.historic is None:
        return
    parts = [one.name for one in case.parts if one.part.role in roles]
    part = next((name for name in parts if case.historic.covers(name)), None)
    if part is not None and (line := told_of(work, part, case.historic)):
        paragraph(out(), f"Historic: {line}.")
