"""In which naming the notes of a sheet are written: the case's, or the only other one that fits them all."""

from __future__ import annotations

from collections.abc import Sequence

from keyaction.models.notes import NAMINGS, Naming, NoteProblem, parse_note


def naming_used(
    texts: Sequence[str], notes: Sequence[int], case: Naming, said: Naming | None
) -> tuple[Naming, str, str]:
    """The naming, what is to be told of it, and what is wrong with it.

    Parameters
    ----------
    texts : sequence of str
        Notes as they are written.
    notes : sequence of int
        The compass.
    case : {"scientific", "trade", "german"}
        The case's.
    said : {"scientific", "trade", "german"}, optional
        What the sheet says itself.
    """
    there = frozenset(notes)
    if said is not None or fits(texts, there, case):
        return said or case, "", ""
    others = {one: _read(texts, there, one) for one in NAMINGS if one != case}
    found = {one: read for one, read in others.items() if read is not None}
    if not found:
        return case, "", ""
    naming = next(iter(found))
    if len({tuple(read) for read in found.values()}) > 1:
        told = f"the notes do not fit the case's naming ({case}) and could be {' or '.join(found)}"
        return naming, "", f"{told}; write a line 'note names' with the one that is meant into the head"
    return naming, f"its notes are written in {naming} naming and the case's in {case}; they were read so", ""


def fits(texts: Sequence[str], there: frozenset[int], naming: Naming) -> bool:
    """Whether all are notes of the compass in that naming."""
    return _read(texts, there, naming) is not None


def _read(texts: Sequence[str], there: frozenset[int], naming: Naming) -> list[int] | None:
    found = []
    for text in texts:
        try:
            note = parse_note(text, naming)
        except NoteProblem:
            return None
        if note not in there:
            return None
        found.append(note)
    return found
