"""The action cases of an instrument's divisions, each read in its surroundings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from keyaction.cases.action.case import Case
from keyaction.cases.action.header import read_compass
from keyaction.cases.action.reader import read_case
from keyaction.cases.fields.compass import Compass
from keyaction.cases.instrument.tables import Entry, has_instrument
from keyaction.cases.layout.within import Within
from keyaction.cases.text.defects import CaseProblem, Defect, Place
from keyaction.cases.text.find import find_case, is_file, missing_hint
from keyaction.cases.text.load import load_toml
from keyaction.models.fields.values import Scalar
from keyaction.models.instrument.keyboard import Keyboard
from keyaction.models.notes import HIGHEST, LOWEST, Naming
from keyaction.models.parts.base import Part

_BOX = "box"


@dataclass(frozen=True)
class Surroundings:
    """What an instrument gives to all its divisions."""

    path: Path
    text: str
    naming: Naming
    keyboards: Mapping[str, Keyboard]
    climate: Mapping[str, Scalar]
    materials: Mapping[str, Mapping[str, Any]]
    parts: Mapping[str, type[Part]]


def read_divisions(common: Surroundings, entries: Sequence[Entry], place: Place) -> dict[str, Case]:
    """The cases of all divisions that are sound; defects go into the log of `place`."""
    found: dict[str, Case] = {}
    for entry in entries:
        peeked = _peek(common, entry) if entry.case else None
        case = _read(common, entry, peeked, place) if peeked else None
        if case is not None:
            found[entry.name] = case
    return found


@dataclass(frozen=True)
class _Peeked:
    """What has to be known of a case before it is read: where it is, and what its boxes are called."""

    path: Path
    boxes: tuple[str, ...]


def _peek(common: Surroundings, entry: Entry) -> _Peeked | None:
    """Look at a case's head; what does not go with the instrument is recorded."""
    beside = common.path.parent / entry.case
    path = beside if is_file(beside) else find_case(entry.case)
    if not is_file(path):
        entry.place.defect("case", f"no such file{missing_hint(beside)}", entry.case)
        return None
    try:
        _, data = load_toml(path)
    except CaseProblem as problem:
        entry.place.log.extend(problem.defects)
        return None
    if has_instrument(data):
        entry.place.defect("case", "is an instrument; an action case is needed", entry.case)
        return None
    head = data.get("case")
    naming = head.get("note_names", "scientific") if isinstance(head, dict) else "scientific"
    if naming != common.naming:
        message = f'has note_names = "{naming}" and the instrument "{common.naming}"; give both the same'
        entry.place.defect("case", message, entry.case)
        return None
    _check_compass(common, entry, read_compass(Place(path.name, "", []), data, common.naming))
    train = data.get("train")
    parts = [part for part in train if isinstance(part, dict)] if isinstance(train, list) else []
    return _Peeked(path, tuple(str(part.get("name", _BOX)) for part in parts if part.get("part") == _BOX))


def _check_compass(common: Surroundings, entry: Entry, compass: Compass) -> None:
    """Record notes of a case that lie beyond its keyboard."""
    keyboard = common.keyboards.get(entry.division.keyboard)
    if keyboard is None or not compass.known:
        return
    low, high = keyboard.notes[0], keyboard.notes[-1]
    if beyond := [note for note in compass.notes if not low <= note <= high]:
        message = (
            f"its compass goes beyond the keyboard '{keyboard.name}', {compass.name(low)} to {compass.name(high)}, by "
            f"{compass.ranges(beyond)}"
        )
        entry.place.defect("case", message, entry.case)


def _read(common: Surroundings, entry: Entry, peeked: _Peeked, place: Place) -> Case | None:
    try:
        return read_case(peeked.path, common.parts, within=_within(common, entry, peeked))
    except CaseProblem as problem:
        place.log.extend(_moved(one, entry) for one in problem.defects)
        return None


def _within(common: Surroundings, entry: Entry, peeked: _Peeked) -> Within:
    anywhere = Keyboard(entry.division.keyboard, tuple(range(LOWEST, HIGHEST + 1)), 0.165)
    climate = [(f"{box}.{name}", value) for box in peeked.boxes for name, value in common.climate.items()]
    return Within(
        common.path.name,
        entry.name,
        common.keyboards.get(entry.division.keyboard, anywhere),
        entry.tables,
        common.materials,
        (*climate, *entry.settings),
        common.text,
    )


def _moved(defect: Defect, entry: Entry) -> Defect:
    """A defect of a value that stands in the instrument and not in the case, put where it stands."""
    if defect.table == "set":
        return Defect(entry.place.file, entry.place.table, f"set.{defect.field}", defect.value, defect.message)
    return defect
