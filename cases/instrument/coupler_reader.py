"""The [[coupler]] tables of an instrument, each against the divisions that it joins."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from keyaction.cases.action.case import Case
from keyaction.cases.action.remarks import unusual
from keyaction.cases.fields.compass import Compass
from keyaction.cases.fields.context import Context, Course, Scope
from keyaction.cases.fields.csvfile import Shelf
from keyaction.cases.fields.tables import TableReader
from keyaction.cases.instrument.coupler import PITCHES, Coupler, slug
from keyaction.cases.instrument.holds import KEY, depth, read_hold, way_at
from keyaction.cases.instrument.instrument import Division
from keyaction.cases.instrument.joined import played_on
from keyaction.cases.text.defects import BadValue, Place
from keyaction.cases.text.near import hint
from keyaction.models.parts.base import Part
from keyaction.models.train.structure import Outlet
from keyaction.models.units.quantity import format_value

ROLE = "coupler"
ALL_ON = "all-on"
"""In place of couplers' names: all of them."""
_OWN = ("name", "kind", "from", "to", "pitch", "takes", "gives")
_NAME = re.compile(r"[A-Za-z0-9]([A-Za-z0-9/' -]{0,38}[A-Za-z0-9'])?")
_FARTHEST = 48
_ROUNDING = 1e-9


@dataclass(frozen=True)
class Ground:
    """What couplers are read against.

    `entries` are all divisions of the file, `divisions` those that are sound, `keyboards` the names of all keyboards.
    """

    context: Context
    entries: Mapping[str, Division]
    keyboards: Sequence[str]
    divisions: Mapping[str, Case]
    parts: Mapping[str, type[Part]]

    @property
    def of_keyboards(self) -> dict[str, list[str]]:
        """The divisions of each keyboard."""
        stand = self.entries.items()
        return {name: [one for one, told in stand if told.keyboard == name] for name in self.keyboards}

    @property
    def kinds(self) -> dict[str, type[Part]]:
        """Kinds of coupler by their names in a file."""
        made = (part for part in self.parts.values() if part.role == ROLE)
        return {part.kind.removeprefix(f"{ROLE}-"): part for part in made}


@dataclass(frozen=True)
class CouplersRead:
    """Couplers by name, CSV files that they take values from, and a line for every value outside what is usual."""

    couplers: Mapping[str, Coupler]
    files: Mapping[str, str]
    warnings: tuple[str, ...]


def read_couplers(ground: Ground, place: Place, value: object) -> CouplersRead:
    """Read what the file has for `coupler`; defects go into the log of `place`."""
    found: dict[str, Coupler] = {}
    files: dict[str, str] = {}
    warnings: list[str] = []
    for name, here, row in _rows(place, value):
        played, driven = (_division(ground, here, row, end) for end in ("from", "to"))
        compass, shelf = _beside(ground, here, played)
        context = replace(ground.context, compass=compass, shelf=shelf)
        coupler = _coupler(ground, context, here, name, row, (played, driven))
        files |= shelf.texts
        if coupler is not None:
            found[name] = coupler
            courses = {path: dict(course) for path, course in coupler.fields.items()}
            warnings += unusual(here.file, here.table, coupler.part.fields, courses, compass)
    return CouplersRead(found, files, tuple(warnings))


def _beside(ground: Ground, place: Place, played: str) -> tuple[Compass, Shelf]:
    """The compass of the played division, and CSV files beside the instrument with a row for each of its notes."""
    naming, folder = ground.context.compass.naming, ground.context.shelf.folder
    case = ground.divisions.get(played)
    compass = Compass(case.compass, naming) if case else Compass.unknown(naming)
    return compass, Shelf(folder, compass, place.log)


def _rows(place: Place, value: object) -> list[tuple[str, Place, dict[str, Any]]]:
    """The tables by their names; those without a sound one are recorded."""
    if not isinstance(value, list) or not all(isinstance(row, dict) for row in value):
        told = "each coupler needs a table of its own, headed [[coupler]] in double brackets"
        place.at("[[coupler]]").defect("", told)
        return []
    found: dict[str, tuple[str, Place, dict[str, Any]]] = {}
    for number, row in enumerate(value, 1):
        name = row.get("name")
        here = place.at(f"[[coupler]] {name if isinstance(name, str) else number}")
        if wrong := _wrong_name(name, {key: one[0] for key, one in found.items()}):
            here.defect("name", wrong, *([name] if "name" in row else []))
        else:
            found[slug(name)] = name, here, row
    return list(found.values())


def _wrong_name(name: object, before: Mapping[str, str]) -> str:
    """Why a coupler cannot be called that; empty if it can."""
    if name is None:
        return 'missing; each coupler has a name, as the player says it: "II/I", "I/pedal" or "II/I 4"'
    if not isinstance(name, str) or not _NAME.fullmatch(name) or "  " in name:
        return (
            "a name is of letters, digits, and between them single spaces, / ' and hyphens, 40 at most, such as II/I, "
            "I/pedal or II/I 4"
        )
    if slug(name) == ALL_ON:
        return "this name stands for all couplers; choose another"
    if slug(name) in before:
        return f"named twice: '{before[slug(name)]}' is there; names differ by more than capitals and signs"
    return ""


def _division(ground: Ground, place: Place, row: Mapping[str, Any], end: str) -> str:
    """The division that `from` or `to` means; empty where that is a defect."""
    if end not in row:
        place.defect(end, f"missing; {'the keyboard that is played' if end == 'from' else 'the one that goes with it'}")
        return ""
    try:
        return played_on(row[end], ground.of_keyboards, ground.entries)
    except BadValue as problem:
        place.defect(end, str(problem), row[end])
        return ""


def _coupler(
    ground: Ground, context: Context, place: Place, name: str, row: Mapping[str, Any], joined: tuple[str, str]
) -> Coupler | None:
    """The coupler of a table; None where anything is wrong with it, which is recorded."""
    before = len(place.log)
    part, shift = _kind(ground, place, row), _pitch(place, row)
    takes, gives = _holds(ground, place, row, joined)
    fields: dict[str, Course] = {}
    if part is not None:
        plain = {key: value for key, value in row.items() if key not in _OWN}
        scope = Scope(context.compass.notes, "instrument")
        fields = TableReader(context, scope, place).read(part.fields, plain).courses
    if joined[0] and joined[0] == joined[1] and shift is not None:
        _check_own(ground.divisions.get(joined[0]), place, row, shift, (takes, gives))
    if len(place.log) > before or part is None or shift is None or takes is None or gives is None:
        return None
    kind = part.kind.removeprefix(f"{ROLE}-")
    found = Coupler(name, kind, part, *joined, shift, takes, gives, fields)
    _check_play(ground.divisions[found.played], context.compass, place, found)
    return found if len(place.log) == before else None


def _kind(ground: Ground, place: Place, row: Mapping[str, Any]) -> type[Part] | None:
    kind, kinds = row.get("kind"), ground.kinds
    if "kind" not in row:
        place.defect("kind", f"missing; known: {', '.join(kinds)}")
    elif not isinstance(kind, str) or kind not in kinds:
        near = hint(kind, kinds) if isinstance(kind, str) else f"; known: {', '.join(kinds)}"
        place.defect("kind", f"there is no such kind of coupler{near}", kind)
    return kinds.get(kind) if isinstance(kind, str) else None


def _pitch(place: Place, row: Mapping[str, Any]) -> int | None:
    """Semitones from the played to the driven note; unison where nothing is said."""
    pitch = row.get("pitch", "unison")
    if isinstance(pitch, str) and pitch in PITCHES:
        return PITCHES[pitch]
    if isinstance(pitch, int) and not isinstance(pitch, bool) and abs(pitch) <= _FARTHEST:
        return pitch
    near = hint(pitch, PITCHES) if isinstance(pitch, str) else ""
    allowed = f"allowed: {', '.join(PITCHES)}, or semitones as a whole number from {-_FARTHEST} to {_FARTHEST}"
    place.defect("pitch", allowed + (near if "did you mean" in near else ""), pitch)
    return None


def _holds(
    ground: Ground, place: Place, row: Mapping[str, Any], joined: tuple[str, str]
) -> tuple[Outlet | None, Outlet | None]:
    """Where it takes hold and where it gives; None where that is a defect or the division is not sound."""
    found: list[Outlet | None] = []
    for word, end, division in (("takes", "out", joined[0]), ("gives", "in", joined[1])):
        hold = None
        if division in ground.divisions:
            try:
                hold = read_hold(ground.divisions[division], row.get(word, KEY), end)
            except BadValue as problem:
                place.defect(word, str(problem), row.get(word, KEY))
        found.append(hold)
    return found[0], found[1]


def _check_own(
    case: Case | None, place: Place, row: Mapping[str, Any], shift: int, holds: tuple[Outlet | None, Outlet | None]
) -> None:
    """Record a coupler of a division onto itself that moves what plays it, or that would play on and on."""
    if shift == 0:
        place.defect("to", "couples the keyboard onto itself at unison: each key moves itself already", row.get("to"))
        return
    takes, gives = holds
    if case is None or takes is None or gives is None or depth(case, gives) > depth(case, takes):
        return
    told = (
        f"a coupler of a division onto itself must give at a part behind the one that it takes hold of ({takes[0]}): "
        f"at {gives[0]} the driven note would take the coupler of its own along, and so on from note to note"
    )
    place.defect("gives", told, row.get("gives", KEY))


def _check_play(case: Case, compass: Compass, place: Place, coupler: Coupler) -> None:
    """Record play that is more than the way which arrives at the giving end: the coupler would never take hold."""
    beyond: dict[int, tuple[float, float]] = {}
    for note, given in coupler.fields.get("play", {}).items():
        way, play = way_given(case, note, coupler), float(given.value)
        if way is not None and play > way * (1 + _ROUNDING):
            beyond[note] = way, play
    if not beyond:
        return
    worst = max(beyond, key=lambda note: beyond[note][1] / beyond[note][0] if beyond[note][0] else 0.0)
    way, play = beyond[worst]
    told = (
        f"{format_value(play, 'm')} at {compass.name(worst)} is more than the whole dip of the played key gives there; "
        f"allowed: up to {format_value(way, 'm')} (not so: {compass.ranges(beyond)})"
    )
    place.defect("play", told)


def way_given(case: Case, note: int, coupler: Coupler) -> float | None:
    """The way (m) of a coupler's giving end at the played key's full dip, without play, nothing giving way."""
    values = coupler.values(note)
    arm = float(values["take_arm"].value) if "take_arm" in values else None
    way = way_at(case, note, coupler.takes, arm)
    if way is None or not ("in_arm" in values and "out_arm" in values):
        return way
    return way * float(values["out_arm"].value) / float(values["in_arm"].value)
