"""The table of a keyboard, as [layout.keyboard] of a case and in an instrument."""

from __future__ import annotations

from collections.abc import Mapping
from typing import cast

from keyaction.cases.fields.compass import Compass
from keyaction.cases.fields.context import Context
from keyaction.cases.layout.sizes import at, size, word
from keyaction.cases.layout.tables import Read, read_table
from keyaction.cases.text.defects import BadValue, Place, shown
from keyaction.models.fields.fields import Field
from keyaction.models.instrument.bass import BASSES, bass_octave
from keyaction.models.instrument.keyboard import OCTAVE, PEDAL_OCTAVE, Keyboard, Tails
from keyaction.models.instrument.problem import LayoutProblem
from keyaction.models.notes import NoteProblem, parse_note

_OCTAVE_DOC = "span of seven naturals"
_MANUAL = size(
    "octave",
    _OCTAVE_DOC,
    0.1,
    0.8,
    (0.155, 0.17),
    default=OCTAVE,
    usual_source="164 mm (a builder's page, second-hand), 165 mm (common practice)",
)
_PEDAL = size(
    "octave",
    _OCTAVE_DOC,
    0.1,
    0.8,
    (0.39, 0.46),
    default=PEDAL_OCTAVE,
    usual_source="from 12 x 33.17 mm (a German standard, from a forum post) to 65 mm a natural (common practice)",
)
_REST = (
    at("middle", "middle of the keyboard, across", (-2.0, 2.0), default=0.0),
    at("back", "front edge of the naturals", default=0.0),
    at("up", "upper side of the naturals", default=0.0),
    word("tails", "how the rods' lines share the octave", "even", "even", "by-naturals"),
    word("bass", "the lowest octave", "full", *BASSES),
    Field("pedals", "whether feet play it", kind="flag", varies=False, default=False, source="played by hand"),
    Field("low", "the lowest note that it sounds", kind="text", varies=False),
    Field("high", "the highest note that it sounds", kind="text", varies=False),
)


def keyboard_fields(pedals: bool = False) -> tuple[Field, ...]:
    """The fields of a keyboard's table, but for `without`, which is a list of notes."""
    return (_PEDAL if pedals else _MANUAL, *_REST)


def read_keyboard(
    context: Context, place: Place, data: Mapping[str, object], name: str = "keyboard"
) -> tuple[Keyboard | None, Read]:
    """Read a keyboard's table; defects go into the log of `place`.

    Parameters
    ----------
    context : Context
        Its compass is the keyboard's where the table has no `low` and `high`.
    place : Place
        The table.
    data : mapping
        As TOML gives it: `octave`, `middle`, `back`, `up`, `tails`, `bass`, `pedals`, `low`, `high`, and `without`, a
        list of notes that it has not.
    name : str
        What it is called.

    Returns
    -------
    keyboard : Keyboard, optional
        None where its notes cannot be told.
    read : Read
        What was given.
    """
    before = len(place.log)
    plain = {key: value for key, value in data.items() if key != "without"}
    read = read_table(context, place, keyboard_fields(data.get("pedals") is True), plain)
    ends = [_end(context, place, read, end, i) for i, end in enumerate(("low", "high"))]
    without = notes_listed(context.compass, place, "without", data.get("without", []))
    notes = _notes(context, place, read, ends, without) if len(place.log) == before else None
    if notes is None:
        return None, read
    return Keyboard(
        name,
        notes[0],
        read.number("octave"),
        read.number("middle"),
        read.number("back"),
        read.number("up"),
        cast(Tails, read.get("tails")),
        notes[1],
        bool(read.get("pedals")),
    ), read


def _end(context: Context, place: Place, read: Read, name: str, which: int) -> int | None:
    """The lowest or highest note; that of the compass where the table has none."""
    text = read.get(name)
    if text is None:
        if name not in read.courses and context.compass.known:
            return context.compass.notes[-which]
        place.defect(name, f"missing; the keyboard needs its {('lowest', 'highest')[which]} note `{name}`")
        return None
    try:
        return parse_note(str(text), context.compass.naming)
    except NoteProblem as problem:
        place.defect(name, str(problem), text)
        return None


def _notes(
    context: Context, place: Place, read: Read, ends: list[int | None], without: list[int]
) -> tuple[tuple[int, ...], dict[int, float]] | None:
    """What the keyboard sounds, and where its keys stand."""
    low, high = ends
    if low is None or high is None:
        return None
    if low > high:
        place.defect("high", f"below the lowest note {context.compass.name(low)}")
        return None
    try:
        sounding, stands = bass_octave(str(read.get("bass")), low, high)
    except LayoutProblem as problem:
        place.defect("bass", problem.defects[0].partition(": ")[2], read.get("bass"))
        return None
    if strange := [note for note in without if note not in sounding]:
        place.defect("without", f"the keyboard would not have {', '.join(map(context.compass.name, strange))} anyhow")
        return None
    notes = tuple(note for note in sounding if note not in without)
    if not notes:
        place.defect("without", "leaves the keyboard no note")
        return None
    return notes, {note: stand for note, stand in stands.items() if note in notes}


def notes_listed(compass: Compass, place: Place, field: str, value: object) -> list[int]:
    """A list of notes; what is none is recorded."""
    if not isinstance(value, list):
        place.defect(field, 'a list of notes is needed, such as ["C#2", "D#2"]', value)
        return []
    found = []
    for i, text in enumerate(value):
        try:
            found.append(note_of(compass, text))
        except BadValue as problem:
            place.defect(f"{field}.{i}", str(problem), text)
    return found


def note_of(compass: Compass, text: object) -> int:
    """A note by its name, of the compass or not.

    Raises
    ------
    BadValue
        If it is no name of a note.
    """
    if not isinstance(text, str):
        raise BadValue(f"the name of a note is needed, in quotes; given: {shown(text)}")
    try:
        return parse_note(text, compass.naming)
    except NoteProblem as problem:
        raise BadValue(str(problem)) from None
