"""The action cases of an instrument's divisions, each read in its surroundings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from keyaction.cases.action.case import Case
from keyaction.cases.action.header import has_instrument, read_compass
from keyaction.cases.action.reader import read_case
from keyaction.cases.fields.compass import Compass
from keyaction.cases.historic.reader import DIVISIONS
from keyaction.cases.instrument.tables import Entry
from keyaction.cases.layout.within import Within
from keyaction.cases.text.defects import CaseProblem, Defect, Place
from keyaction.cases.text.find import find_case, is_file, missing_hint
from keyaction.cases.text.load import load_toml
from keyaction.cases.text.written import value_at
from keyaction.models.fields.values import Scalar
from keyaction.models.instrument.keyboard import OCTAVE, Keyboard
from keyaction.models.instrument.place import STRAIGHT
from keyaction.models.notes import HIGHEST, LOWEST, Naming
from keyaction.models.parts.base import Part

_BOX = "box"


@dataclass(frozen=True)
class Surroundings:
    """What an instrument gives to all its divisions."""

    path: Path
    text: str
    title: str
    naming: Naming
    keyboards: Mapping[str, Keyboard]
    climate: Mapping[str, Scalar]
    materials: Mapping[str, Mapping[str, Any]]
    parts: Mapping[str, type[Part]]
    historic: Mapping[str, Any] = field(default_factory=dict)


def stands_of(common: Surroundings, entries: Sequence[Entry]) -> dict[str, tuple[Path, Within]]:
    """Where the case of every division is, and what the instrument gives to it; of those that can be looked at."""
    peeked = {entry.name: _peek(common, entry) for entry in entries if entry.case}
    return {
        entry.name: (own.path, _within(common, _on_its_chest(entry, entries, peeked), own))
        for entry in entries
        if (own := peeked.get(entry.name)) is not None
    }


def read_divisions(common: Surroundings, entries: Sequence[Entry]) -> dict[str, Case]:
    """The cases of all divisions that are sound; defects go into the log of their places."""
    stands = stands_of(common, entries)
    read = ((entry.name, _read(*stands[entry.name], common, entry)) for entry in entries if entry.name in stands)
    found = {name: case for name, case in read if case is not None}
    owners = {entry.name for entry in entries if not entry.division.shares}
    for entry in entries:
        owner = entry.division.shares
        if entry.name in found and owner in found and owner in owners:
            _check_shared(entry.place, found[owner], found[entry.name])
    return found


@dataclass(frozen=True)
class _Peeked:
    """What has to be known of a case before it is read: where it is, what its boxes are called, what its chest is."""

    path: Path
    boxes: tuple[str, ...]
    chest: Mapping[str, Any]


def file_of(common: Surroundings, entry: Entry) -> Path:
    """The file of a division's case: beside the instrument, else a shipped one."""
    beside = common.path.parent / entry.case
    return beside if is_file(beside) else find_case(entry.case)


def _peek(common: Surroundings, entry: Entry) -> _Peeked | None:
    """Look at a case's head; what does not go with the instrument is recorded."""
    path = file_of(common, entry)
    if not is_file(path):
        entry.place.defect("case", f"no such file{missing_hint(common.path.parent / entry.case)}", entry.case)
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
    boxes = tuple(str(part.get("name", _BOX)) for part in parts if part.get("part") == _BOX)
    chest = value_at(data, ("layout", "chest"))
    return _Peeked(path, boxes, chest if isinstance(chest, dict) else {})


def _on_its_chest(entry: Entry, entries: Sequence[Entry], peeked: Mapping[str, _Peeked | None]) -> Entry:
    """The division with a chest that is shared: whose grooves stand on it, and of another's all that is said of it."""
    named = {one.name: one for one in entries}
    owner = named.get(entry.division.shares, entry)
    own = peeked.get(owner.name)
    whose = [owner.name, *(one.name for one in entries if one.division.shares == owner.name and one is not owner)]
    told = {**(own.chest if own and owner is not entry else {}), **owner.tables.get("chest", {})}
    if len(whose) == 1 or not (told or (own and own.chest)):
        return entry
    return replace(entry, tables={**entry.tables, "chest": {**told, "divisions": whose}})


def _check_shared(place: Place, owner: Case, case: Case) -> None:
    """Record notes whose grooves on a common chest are not alike: one drawing has them, by turns."""
    if owner.layout is None:
        place.defect("shares", f"has no chest: {owner.path.name} has no [layout]", owner.division)
    if owner.layout is None or case.layout is None:
        return
    compass = Compass(tuple(sorted({*owner.compass, *case.compass})), case.naming)
    if only := set(owner.compass) ^ set(case.compass):
        place.defect("shares", f"both need the same notes; {compass.ranges(only)}: of one alone", owner.division)
        return
    theirs, own = owner.layout.chest.widths, case.layout.chest.widths
    pairs = {note: (theirs[owner.division, note], own[case.division, note]) for note in case.compass}
    if unlike := [note for note, (one, other) in pairs.items() if abs(one - other) > STRAIGHT]:
        place.defect("shares", f"both need grooves alike in width; not so: {compass.ranges(unlike)}", owner.division)


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


def _read(path: Path, within: Within, common: Surroundings, entry: Entry) -> Case | None:
    """The case; on a keyboard that there is not, what its layout says is not judged."""
    judged = entry.division.keyboard in common.keyboards
    try:
        return read_case(path, common.parts, within=within)
    except CaseProblem as problem:
        found = (one for one in problem.defects if judged or not one.table.startswith("[layout"))
        entry.place.log.extend(_moved(one, entry) for one in found)
        return None


def _within(common: Surroundings, entry: Entry, peeked: _Peeked) -> Within:
    anywhere = Keyboard(entry.division.keyboard, tuple(range(LOWEST, HIGHEST + 1)), OCTAVE)
    climate = [(f"{box}.{name}", value) for box in peeked.boxes for name, value in common.climate.items()]
    return Within(
        common.path.name,
        entry.name,
        common.keyboards.get(entry.division.keyboard, anywhere),
        entry.tables,
        common.materials,
        (*climate, *entry.settings),
        common.text,
        entry.division.shares if "divisions" in entry.tables.get("chest", {}) else "",
        common.title,
        common.historic if entry.name in common.historic.get(DIVISIONS, [entry.name]) else {},
    )


def _moved(defect: Defect, entry: Entry) -> Defect:
    """A defect of a value that stands in the instrument and not in the case, put where it stands."""
    if defect.table == "set":
        return Defect(entry.place.file, entry.place.table, f"set.{defect.field}", defect.value, defect.message)
    return defect
