"""What files of curves and of traces have in common: lines kept for people, notes, tables one after the other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

from keyaction.cases.measured.blocks import LARGEST, Block, Form, Said, read_blocks
from keyaction.cases.measured.naming import naming_used
from keyaction.cases.text.defects import BadValue, CaseProblem, Defect, Place, first_alike
from keyaction.cases.text.textfile import read_text
from keyaction.models.notes import Naming, NoteProblem, note_name, parse_note
from keyaction.models.readings.readings import Head

One = TypeVar("One")

ABOUT = ("case", "case key", "division", "note names", "date", "temperature", "humidity", "measured by", "remark")
"""Lines of a head that are only kept for people."""
PRESSURE = Said("Pa", 50.0, 10e3, "5 to 1020 mmH2O")


def read_courses(
    path: str | Path,
    notes: Sequence[int],
    naming: Naming,
    form: Form,
    made: Callable[[Block, int, list[int], Place, Path], One | None],
    what: str,
) -> tuple[One, ...]:
    """Everything of one form that a file holds, note by note.

    Parameters
    ----------
    path : str or Path
    notes : sequence of int
        The compass of the case, rising.
    naming : {"scientific", "trade", "german"}
    form : Form
    made : callable
        From a block, a note, the note's rows, where defects go and the file to what they hold; None if that is wrong.
    what : str
        What one is called.

    Raises
    ------
    keyaction.CaseProblem
        With every defect of the file, and its line.
    """
    file = Path(path)
    place = Place(file.name, "", [])
    try:
        text = read_text(file, LARGEST)
    except BadValue as problem:
        raise CaseProblem(file, [Defect(str(file), "", "", "", str(problem))]) from None
    blocks = read_blocks(text, form, place)
    naming = _naming_in(blocks, notes, naming, place)
    rows = ((block, *one) for block in blocks for one in _by_note(block, notes, naming, place).items())
    found = tuple(one for row in rows if (one := made(*row, place, file)) is not None)
    if not found and not place.log:
        place.defect("", f"holds no {what}")
    if place.log:
        raise CaseProblem(file, first_alike(place.log))
    return found


def head_of(block: Block) -> Head:
    """Which case and division a block says that it is of."""
    case, key, division = (" ".join(block.head.get(name, ("", 0))[0].split()) for name in ABOUT[:3])
    return Head(case, key, division)


def _naming_in(blocks: Sequence[Block], notes: Sequence[int], naming: Naming, place: Place) -> Naming:
    """The naming of a file's notes: the case's, or the only other that fits them all."""
    texts = [block.head["note"][0] for block in blocks if "note" in block.head and "note" not in block.words]
    texts += [text for block in blocks for text in dict.fromkeys(block.words.get("note", ())) if text]
    used, _, wrong = naming_used(texts, notes, naming, None)
    if wrong:
        place.defect("note", wrong)
    return used


def _by_note(block: Block, notes: Sequence[int], naming: Naming, place: Place) -> dict[int, list[int]]:
    """Rows of a block by the note that they are of."""
    if "note" in block.words:
        texts = block.words["note"]
    else:
        texts = [block.head["note"][0] if "note" in block.head else ""] * len(block.lines)
    found: dict[int, list[int]] = {}
    known: dict[str, int | None] = {}
    for i, text in enumerate(texts):
        if text not in known:
            known[text] = _note(text, block.lines[i], notes, naming, place)
        note = known[text]
        if note is not None:
            found.setdefault(note, []).append(i)
    return found


def _note(text: str, line: int, notes: Sequence[int], naming: Naming, place: Place) -> int | None:
    at = place.at(f"line {line}")
    compass = " to ".join(note_name(notes[i], naming) for i in (0, -1))
    if not text:
        at.defect("note", "which note is it? a line 'note' before the table, or a column of that name, says it")
        return None
    try:
        note = parse_note(text, naming)
    except NoteProblem as problem:
        at.defect("note", f"{problem}; the compass is {compass}", text)
        return None
    if note not in notes:
        at.defect("note", f"outside the compass; the compass is {compass}", text)
        return None
    return note
