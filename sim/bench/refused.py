"""What a case refuses or warns of, with the part and the field that it is about."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from keyaction.cases.text.defects import CaseProblem, Defect
from keyaction.cases.text.signs import legible
from keyaction.models.notes import Naming, NoteProblem, parse_note
from keyaction.models.train.train import TrainProblem

_TRAIN = re.compile(r"\[\[train\]\] (?P<part>[a-z0-9-]+)")
_NOTE = re.compile(r"\[notes\.(?P<note>[^.\]]+)(?:\.(?P<part>[^\]]+))?\]")
_FIELD = re.compile(r"field '(?P<path>[^']+)'")
_AT = re.compile(r"field '[^']+' = (?P<value>[^:=]+) at (?P<at>[^:=]+): ")
_OF_TRAIN = re.compile(r"(?P<part>[a-z0-9-]+), field (?P<path>[a-z_]+(?:\.[a-z0-9_]+)*)\b")


@dataclass(frozen=True)
class Said:
    """One sentence of a case.

    Attributes
    ----------
    text : str
        As `keyaction check` prints it.
    part, path : str
        Part and field that it is about; empty of what is about no single one.
    note : int, optional
        The note whose own value it is about.
    value : str
        The value as the case writes it, where the sentence has it.
    why : str
        What is wrong, without where it stands; empty where the sentence says no more.
    at, notes : str, tuple of int
        Notes of a warning, in words and as numbers; empty where it names none.
    """

    text: str
    part: str = ""
    path: str = ""
    note: int | None = None
    value: str = ""
    why: str = ""
    at: str = ""
    notes: tuple[int, ...] = ()


def refusals(problem: CaseProblem | TrainProblem, naming: Naming = "scientific") -> list[Said]:
    """Every defect of a case or of the trains of its notes.

    Parameters
    ----------
    problem : CaseProblem or TrainProblem
    naming : {"scientific", "trade", "german"}
        How the case writes notes.
    """
    if isinstance(problem, CaseProblem):
        return [_of_defect(one, naming) for one in problem.defects]
    return [_of_train(text) for text in problem.defects]


def _of_defect(one: Defect, naming: Naming) -> Said:
    why = legible(one.message)
    if found := _TRAIN.fullmatch(one.table):
        return Said(str(one), found["part"], one.field, None, one.value, why)
    if found := _NOTE.fullmatch(one.table):
        return Said(str(one), found["part"] or "", one.field, _note(found["note"], naming), one.value, why)
    return Said(str(one), value=one.value, why=why)


def _note(text: str, naming: Naming) -> int | None:
    try:
        return parse_note(text, naming)
    except NoteProblem:
        return None


def _of_train(text: str) -> Said:
    found = _OF_TRAIN.match(text)
    return Said(legible(text), found["part"], found["path"]) if found else Said(legible(text))


def warned(lines: list[str], names: Sequence[tuple[int, str]] = ()) -> Iterator[Said]:
    """Warnings, each with the part, the field, its value and the notes that it names, of those with their `names`."""
    for line in lines:
        part, path, at = _TRAIN.search(line), _FIELD.search(line), _AT.search(line)
        about = (part["part"] if part else "", path["path"] if part and path else "")
        notes = _notes(at["at"], names) if at else ()
        yield Said(
            line, *about, value=at["value"] if at and notes else "", at=at["at"] if at and notes else "", notes=notes
        )


def _notes(text: str, names: Sequence[tuple[int, str]]) -> tuple[int, ...]:
    """Notes of "C2 to F3, A4"; none where a name is none."""
    order, found = [name for _, name in names], list[int]()
    for span in text.split(", "):
        first, _, last = span.partition(" to ")
        if first not in order or (last or first) not in order:
            return ()
        found += [note for note, _ in names[order.index(first) : order.index(last or first) + 1]]
    return tuple(found)
