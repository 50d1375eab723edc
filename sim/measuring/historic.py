"""Work proposed at historic material: as found, proposed, reversible or not, trace left, who, when; no silent swap."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from keyaction.models.historic.historic import Historic
from keyaction.models.historic.works import FIRST, WORKS, Work
from keyaction.models.notes import Naming, note_name
from keyaction.sim.tables.sheet import Cell, Column, Sheet

HEADINGS = ("as found", "proposed", "reversible", "trace left", "who", "when")
TO_DECIDE = "only proposed, to be decided"


@dataclass(frozen=True)
class Proposed:
    """One piece of work that is proposed.

    Attributes
    ----------
    note : int
    work : str
        A key of `keyaction.models.historic.works.WORKS`.
    part : str
        The part of the train that it is done to; empty where it is none.
    found, proposed : str
        As it was found, and what it would be, in words.
    """

    note: int
    work: str
    part: str
    found: str
    proposed: str


def historic_columns() -> tuple[Column, ...]:
    """Columns that rows of proposed work end with; the last two are left blank, to be filled in."""
    return tuple(Column(heading, text=True) for heading in HEADINGS)


def historic_cells(one: Proposed, historic: Historic | None) -> list[Cell]:
    """The cells of one piece of work under `historic_columns`."""
    work = WORKS[one.work]
    proposed = f"{one.proposed} ({TO_DECIDE})" if _is_grave(work) and _covers(historic, one.part) else one.proposed
    return [one.found, proposed, work.undone, work.trace, "", ""]


def proposed_sheet(works: Sequence[Proposed], historic: Historic | None, naming: Naming = "scientific") -> Sheet:
    """All that is proposed, a row each, with what is to be said of historic material under it."""
    columns = [Column("note", text=True), Column("part", text=True), Column("work", text=True), *historic_columns()]
    rows = [
        [note_name(one.note, naming), one.part, WORKS[one.work].does, *historic_cells(one, historic)] for one in works
    ]
    note = "Who and when are filled in when the work is done; what is taken out is kept and labelled."
    return Sheet("proposed", "Proposed work", columns, rows, note, swaps_told(works, historic))


def may(work: str, part: str, historic: Historic | None) -> str:
    """Whether a piece of work may be done to a part, in words.

    Parameters
    ----------
    work : str
        A key of `keyaction.models.historic.works.WORKS`.
    part : str
        The part of the train; empty where it is the action as a whole.
    historic : Historic, optional
        What the case says; None where it says nothing.

    Returns
    -------
    str
        Empty where nothing is to be asked: the part is not historic, or the work leaves it as it was.
    """
    about = WORKS[work]
    if not _covers(historic, part) or historic is None or (about.undone == "yes" and not about.swaps):
        return ""
    what = f"{part or 'the action'} is historic{f' ({historic.made})' if historic.made else ''}"
    if not _is_grave(about):
        return f"{what}: to {about.does} can be undone in part only ({about.trace}); ask {historic.who} first"
    first = WORKS.get(FIRST.get(work, ""))
    tried = f"; first {first.does} (reversible: {first.undone}; {first.trace})" if first else ""
    undone = f"reversible: {about.undone}; {about.trace}"
    keep = f"; must stay: {', '.join(historic.keep)}" if historic.keep else ""
    return f"{what}: to {about.does} ({undone}) is {TO_DECIDE} by {historic.who}{tried}{keep}"


def told_of(work: str, part: str, historic: Historic | None) -> str:
    """The same, or of work that is undone what is to be written down; empty where nothing is historic."""
    if historic is None or not _covers(historic, part):
        return ""
    about = WORKS[work]
    written = f"{part or 'the action'} is historic: to {about.does} is undone in the same way; {about.trace}"
    return may(work, part, historic) or f"{written}. Write down what was found, who did it, and when"


def swaps_told(works: Iterable[Proposed], historic: Historic | None) -> list[str]:
    """What is to be said of proposed works, each once however many notes it is proposed for."""
    pairs = dict.fromkeys((one.work, one.part) for one in works)
    return [line for work, part in pairs if (line := may(work, part, historic))]


def _covers(historic: Historic | None, part: str) -> bool:
    return historic is not None and historic.covers(part)


def _is_grave(work: Work) -> bool:
    """Whether a part is swapped, or matter is taken away for good."""
    return work.swaps or work.undone == "no"
