"""The trains of a case's notes, with the defects of all of them gathered."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence

from keyaction.cases.action.case import Case
from keyaction.models.notes import NoteProblem, check_numbers, note_name, parse_range
from keyaction.models.train.train import PartProblem, Train, TrainProblem, build_train

_FIGURE = re.compile(r"(?<![\w.-])-?\d[\d.e+-]*(?= \D)")
"""A figure with its unit after it; a digit of a name has none."""


def train_of(case: Case, note: int | str) -> Train:
    """The train of one note of a case: its parts with their figures, and the equations' parameters.

    Parameters
    ----------
    case : Case
    note : int or str
        Its number (C4 = 60) or its name as the case writes names.

    Returns
    -------
    Train

    Raises
    ------
    keyaction.TrainProblem
        With every missing field, naming part and field.
    keyaction.NoteProblem
        When the text is no single note of the compass.
    KeyError
        When the number is outside the compass.

    Examples
    --------
    >>> import keyaction as ka
    >>> train = ka.train_of(ka.read_case("demo-wood"), "C4")
    >>> round(train.box_pressure)  # Pa: 70 mm of water
    686
    """
    number = one_note(case, note) if isinstance(note, str) else note
    return build_train([(p.part, p.name, case.values(number, p)) for p in case.parts], case.library)


def one_note(case: Case, text: str) -> int:
    """The note of that name.

    Raises
    ------
    keyaction.models.notes.NoteProblem
        When the case has no such note, or the text names several.
    """
    found = select(case, text)
    if len(found) != 1:
        raise NoteProblem(f"'{text}' names {len(found)} notes; one is needed")
    return found[0]


def check_trains(case: Case, notes: Sequence[int]) -> dict[int, Train]:
    """Trains of the notes, with the defects of all of them gathered.

    Raises
    ------
    TrainProblem
        Each defect once, with the notes that have it.
    """
    trains, defects = _built(case, notes)
    return _sound(case, trains, defects, len(notes))


def sound_trains(case: Case, notes: Sequence[int], build: Callable[[int], Train] | None = None) -> dict[int, Train]:
    """As `check_trains`, but without the notes for which a part raises an error of its own.

    Parameters
    ----------
    case : Case
    notes : sequence of int
    build : callable, optional
        What makes the train of a note; by default that of the case alone.

    Raises
    ------
    TrainProblem
        Each defect of the case's fields once, with the notes that have it.
    """
    trains, defects = _built(case, notes, raised=False, build=build)
    return _sound(case, trains, defects, len(notes))


def raised_by_parts(case: Case, notes: Sequence[int]) -> dict[int, str]:
    """Why each of these notes cannot be built, where a part raises an error of its own."""
    found = {}
    for note in notes:
        try:
            train_of(case, note)
        except PartProblem as problem:
            found[note] = str(problem)
    return found


def _built(
    case: Case, notes: Sequence[int], raised: bool = True, build: Callable[[int], Train] | None = None
) -> tuple[dict[int, Train], dict[str, list[int]]]:
    """Trains of the sound notes, and the defects of the others with their notes; with those that parts raised."""
    trains: dict[int, Train] = {}
    defects: dict[str, list[int]] = {}
    for note in notes:
        try:
            trains[note] = build(note) if build else train_of(case, note)
        except TrainProblem as problem:
            if raised or not isinstance(problem, PartProblem):
                for text in problem.defects:
                    defects.setdefault(text, []).append(note)
    return trains, defects


def _sound(case: Case, trains: dict[int, Train], defects: dict[str, list[int]], of: int) -> dict[int, Train]:
    if defects:
        raise TrainProblem([_told(case, each, of) for each in _alike(defects)])
    return trains


def _alike(defects: Mapping[str, list[int]]) -> list[dict[str, list[int]]]:
    """Defects that differ by their figures alone, together: a size may be wrong at every note by another figure."""
    groups: dict[str, dict[str, list[int]]] = {}
    for text, notes in defects.items():
        groups.setdefault(_FIGURE.sub("#", text), {})[text] = notes
    return list(groups.values())


def _told(case: Case, alike: Mapping[str, list[int]], of: int) -> str:
    """A defect with the notes that have it; where its figures differ, those of the first."""
    first, notes = next(iter(alike)), sorted({note for found in alike.values() for note in found})
    figures = f"; figures of {note_name(alike[first][0], case.naming)}" if len(alike) > 1 else ""
    return f"{first} ({_named(case, notes, of)}{figures})"


def _named(case: Case, notes: Sequence[int], of: int) -> str:
    if len(notes) == of:
        return "every note" if of > 1 else f"note {note_name(notes[0], case.naming)}"
    shown = ", ".join(note_name(note, case.naming) for note in notes[:6])
    return f"notes {shown}{' and others' if len(notes) > 6 else ''}"


def select(case: Case, notes: str | Sequence[int] | None) -> list[int]:
    """Notes of the case by text ("C4", "C2:G6", "C2:G6:12"), numbers, or all.

    Raises
    ------
    keyaction.models.notes.NoteProblem
        When the text or a number names no note of the compass, or the list is empty.
    """
    if not isinstance(case, Case):
        raise TypeError(f"{case!r} is no case; read one with keyaction.read_case")
    if notes is None:
        return list(case.compass)
    if isinstance(notes, str):
        return parse_range(notes, case.compass, case.naming)
    return check_numbers(notes, case.compass, case.naming)
