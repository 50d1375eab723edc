"""Notes of an instrument: DIVISION/NOTE, and ranges of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from keyaction.cases.text.near import hint
from keyaction.models.notes import Naming, Note, NoteProblem, parse_range

BETWEEN = "/"
"""Stands between a division and its note."""


def full_name(division: str, note: str) -> str:
    """``"great/C4"``; without a division the note alone."""
    return f"{division}{BETWEEN}{note}" if division else note


def division_named(text: str, names: Iterable[str]) -> str:
    """The division that is meant; small and capital letters are alike, since no two names differ by them alone.

    Raises
    ------
    NoteProblem
        If there is none; the message gives the nearest name.
    """
    known = list(names)
    plain = text.strip()
    found = next((name for name in known if name.lower() == plain.lower()), None)
    if found is None:
        raise NoteProblem(f"no division '{plain}'{hint(plain, known)}")
    return found


def split_notes(text: str, names: Sequence[str]) -> list[tuple[str, str]]:
    """The pieces of a choice of notes, each with its division; empty for a bare one, which holds for all.

    Raises
    ------
    NoteProblem
        With every division that is not known.
    """
    found: list[tuple[str, str]] = []
    wrong: dict[str, None] = {}
    for piece in text.split(","):
        division, between, notes = piece.rpartition(BETWEEN)
        try:
            found.append((division_named(division, names) if between else "", notes.strip()))
        except NoteProblem as problem:
            wrong[f"'{piece.strip()}': {problem}"] = None
    if wrong:
        raise NoteProblem("\n".join(wrong))
    return found


def choose_notes(
    text: str | None, compasses: Mapping[str, Sequence[Note]], naming: Naming = "scientific"
) -> dict[str, list[Note]]:
    """Read a choice of notes of several divisions.

    Parameters
    ----------
    text : str, optional
        Pieces with commas between, each a note or a range: ``"great/C2:G3,pedal/C2"``. A piece without a division
        holds for all, as far as each of them goes. All notes by default.
    compasses : mapping of str to sequence of int
        The notes of each division, rising.
    naming : {"scientific", "trade", "german"}

    Returns
    -------
    dict
        By division, in their order; without those of which no note is named.

    Raises
    ------
    NoteProblem
        With every piece that names no note.
    """
    if text is None:
        return {name: list(notes) for name, notes in compasses.items()}
    chosen: dict[str, dict[Note, None]] = {name: {} for name in compasses}
    every = sorted({note for notes in compasses.values() for note in notes})
    wrong: dict[str, None] = {}
    for piece in text.split(","):
        division = ""
        try:
            ((division, own),) = split_notes(piece, list(compasses))
            notes = parse_range(own, compasses[division] if division else every, naming)
        except NoteProblem as problem:
            wrong |= {f"{division}: {line}" if division else line: None for line in str(problem).split("\n")}
            continue
        for name in [division] if division else compasses:
            chosen[name].update(dict.fromkeys(note for note in notes if note in compasses[name]))
    if wrong:
        raise NoteProblem("\n".join(wrong))
    return {name: list(notes) for name, notes in chosen.items() if notes}
