"""What a case refuses or warns of, with the part and the field that it is about."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from keyaction.cases.text.defects import CaseProblem, Defect
from keyaction.cases.text.signs import legible
from keyaction.models.notes import Naming, NoteProblem, parse_note
from keyaction.models.train.train import TrainProblem

_TRAIN = re.compile(r"\[\[train\]\] (?P<part>[a-z0-9-]+)")
_NOTE = re.compile(r"\[notes\.(?P<note>[^.\]]+)(?:\.(?P<part>[^\]]+))?\]")
_FIELD = re.compile(r"field '(?P<path>[^']+)'")
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
    """

    text: str
    part: str = ""
    path: str = ""
    note: int | None = None
    value: str = ""
    why: str = ""


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


def warned(lines: list[str]) -> Iterator[Said]:
    """Warnings, each with the part and field that it names."""
    for line in lines:
        part, path = _TRAIN.search(line), _FIELD.search(line)
        yield Said(line, part["part"] if part else "", path["path"] if part and path else "")
