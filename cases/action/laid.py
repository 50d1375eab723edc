"""The layout of a case: read, laid out, and its figures put into the fields that take them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from keyaction.cases.action.header import table_of
from keyaction.cases.action.remarks import unusual
from keyaction.cases.action.train import Draft, train_table
from keyaction.cases.fields.allowed import allowed_range, inside, written
from keyaction.cases.fields.asked import ORIGIN, Asked
from keyaction.cases.fields.compass import Compass
from keyaction.cases.fields.context import Context, Course
from keyaction.cases.fields.tables import field_at
from keyaction.cases.layout.drawn import Drawn, read_drawn
from keyaction.cases.layout.keyboard import read_keyboard
from keyaction.cases.layout.member import Member, Run, run_of
from keyaction.cases.layout.tables import Read, tables_of
from keyaction.cases.layout.within import Within
from keyaction.cases.text.defects import BadValue, Place
from keyaction.cases.text.near import hint
from keyaction.models.fields.values import Given
from keyaction.models.instrument.assemble import lay_out
from keyaction.models.instrument.keyboard import Keyboard
from keyaction.models.instrument.layout import Layout
from keyaction.models.instrument.problem import LayoutProblem
from keyaction.models.units.quantity import format_value

_TABLE = "[layout]"
_APART, _SHARE = 1e-3, 2e-3
"""m, and share: a typed length that differs by more than both contradicts the layout."""
_TURNED = 0.0175
"""rad, a degree: by how much an angle may differ from the layout's."""


@dataclass(frozen=True)
class Laid:
    """What comes of a layout.

    Parameters
    ----------
    compass : Compass
        The notes that the keyboard has.
    drawn : Drawn, optional
    layout : Layout, optional
    warnings : tuple of str
        What `check` should say.
    """

    compass: Compass
    drawn: Drawn | None = None
    layout: Layout | None = None
    warnings: tuple[str, ...] = ()


def lay(
    context: Context, place: Place, data: Mapping[str, Any], within: Within | None, drafts: Sequence[Draft]
) -> Laid:
    """Read [layout], lay the action out, and fill the fields that take figures of it.

    Parameters
    ----------
    context : Context
    place : Place
        The case file; takes defects.
    data : mapping
        The whole file.
    within : Within, optional
        What an instrument gives.
    drafts : sequence of Draft
        The parts, after overrides and settings; their fields are filled, and freed of notes that there are not.

    Returns
    -------
    Laid
    """
    if "layout" not in data and within is None:
        _refuse_asked(context, place, drafts)
        return Laid(context.compass)
    tables = tables_of(place.at(_TABLE), table_of(place, data, "layout"), within)
    keyboard, read = _keyboard(context, place, tables, within)
    if keyboard is None:
        return Laid(context.compass)
    kept = _kept(context.compass, place, keyboard, within)
    _refuse_notes(context.compass, place, data, kept, within)
    if "layout" not in data and within is not None and not within.tables:
        _refuse_asked(context, place, drafts)
        return _some_notes(Laid(kept), context, place, drafts, keyboard, within)
    drawn, layout = _laid_out(context, place, tables, (keyboard, read), drafts, kept.notes, within)
    lines = () if drawn is None else tuple(_warnings(place.file, kept, drawn, layout))
    return _some_notes(Laid(kept, drawn, layout, lines), context, place, drafts, keyboard, within)


def _keyboard(
    context: Context, place: Place, tables: Mapping[str, Mapping[str, object]], within: Within | None
) -> tuple[Keyboard | None, tuple[Read, ...]]:
    """The instrument's keyboard, or else the case's own with what was read."""
    if within is not None:
        return within.keyboard, ()
    if not context.compass.known:
        return None, ()
    keyboard, read = read_keyboard(context, place.at("[layout.keyboard]"), tables.get("keyboard", {}))
    return keyboard, (read,)


def _kept(compass: Compass, place: Place, keyboard: Keyboard, within: Within | None) -> Compass:
    """The notes of the compass that the keyboard has; what goes beyond its ends is a defect."""
    there = set(keyboard.notes)
    kept = tuple(note for note in compass.notes if note in there)
    beyond = [note for note in compass.notes if not keyboard.notes[0] <= note <= keyboard.notes[-1]]
    if beyond and compass.known:
        whose = f" of {within.instrument}" if within else ""
        ends = f"{compass.name(keyboard.notes[0])} to {compass.name(keyboard.notes[-1])}"
        place.at("[compass]").defect("", f"larger than the keyboard{whose}, {ends}: it has no {compass.ranges(beyond)}")
    elif not kept:
        place.at("[compass]").defect("", "the keyboard has none of its notes")
    return Compass(kept, compass.naming, compass.known) if kept else compass


def _refuse_notes(
    compass: Compass, place: Place, data: Mapping[str, Any], kept: Compass, within: Within | None
) -> None:
    """Record tables of single notes that the case's own keyboard has not."""
    notes = data.get("notes")
    for text in notes if within is None and isinstance(notes, dict) else ():
        try:
            note = compass.read(text)
        except BadValue:
            continue
        if note not in kept.notes:
            place.at(f"[notes.{text}]").defect("", "the keyboard has no such note")


def _some_notes(
    laid: Laid, context: Context, place: Place, drafts: Sequence[Draft], keyboard: Keyboard, within: Within | None
) -> Laid:
    """Leave out of all fields the notes that the keyboard has not; of an instrument's this is told."""
    lacks = [note for note in context.compass.notes if note not in laid.compass.notes]
    if not lacks or not context.compass.known:
        return laid
    for draft in drafts:
        for path, course in draft.courses.items():
            draft.courses[path] = {note: one for note, one in course.items() if note in laid.compass.notes}
    if within is None:
        return laid
    told = f"{place.file}: [compass]: left out, since the keyboard '{keyboard.name}' of {within.instrument} has no such"
    line = f"{told} key: {context.compass.ranges(lacks)}"
    return Laid(laid.compass, laid.drawn, laid.layout, (line, *laid.warnings))


def _laid_out(
    context: Context,
    place: Place,
    tables: Mapping[str, Mapping[str, object]],
    keyboard: tuple[Keyboard, tuple[Read, ...]],
    drafts: Sequence[Draft],
    notes: tuple[int, ...],
    within: Within | None,
) -> tuple[Drawn | None, Layout | None]:
    """The layout, if all of it and of the train is sound; its figures go into the fields."""
    run = run_of([_member(one) for one in drafts if one.part is not None])
    if run is None:
        if not place.log:
            message = "needs a train of key, rods and levers by turns, pallet, and a groove"
            place.at(_TABLE).defect("", message)
        return None, None
    drawn = read_drawn(context, place, tables, keyboard, run, notes, within)
    _check_names(place, drafts, run.figures(drawn.fan if drawn else ""))
    if drawn is None or place.log:
        return drawn, None
    layout = _layout(context.compass, place, drawn, notes)
    if layout is not None and context.asked:
        _fill(context.compass, place, drafts, layout)
    return drawn, layout


def _member(draft: Draft) -> Member:
    part = draft.part
    assert part is not None
    pushed = bool(getattr(part, "pushed", False))
    return Member(draft.name, draft.kind, part.role, pushed, part.fields, draft.courses)


def _layout(compass: Compass, place: Place, drawn: Drawn, notes: tuple[int, ...]) -> Layout | None:
    try:
        return lay_out(
            drawn.division,
            drawn.keyboard,
            drawn.grooves(notes),
            drawn.chest.name,
            drawn.stations(notes),
            drawn.run.drawn_rods(),
            drawn.sizes(notes),
            drawn.fan,
            compass.name,
            drawn.slanting(notes),
        )
    except LayoutProblem as problem:
        for defect in problem.defects:
            place.at(_TABLE).defect("", defect)
        return None


def _asked(drafts: Sequence[Draft]) -> Iterator[tuple[Draft, str, str, list[int]]]:
    """Every field that takes a figure: its part, path, the figure's name and the notes."""
    for draft in drafts:
        for path, course in draft.courses.items():
            names: dict[str, list[int]] = {}
            for note, one in course.items():
                if isinstance(one, Asked):
                    names.setdefault(one.figure or f"{draft.name}.{path}", []).append(note)
            for name, notes in names.items():
                yield draft, path, name, notes


def _refuse_asked(context: Context, place: Place, drafts: Sequence[Draft]) -> None:
    for draft, path, name, _ in _asked(drafts) if context.asked else ():
        told = f"takes {name} of a layout, and there is none; write a [layout], or give a value"
        place.at(train_table(draft)).defect(path, told)


def _check_names(place: Place, drafts: Sequence[Draft], known: Mapping[str, str]) -> None:
    """Record figures that no layout of this train tells, and those of another dimension."""
    for draft, path, name, _ in _asked(drafts):
        field = field_at(draft.part.fields, path) if draft.part else None
        if name not in known:
            place.at(train_table(draft)).defect(path, f"the layout tells no '{name}'{hint(name, known)}")
        elif field is not None and field.unit != known[name]:
            what = {"m": "a length", "rad": "an angle"}[known[name]]
            place.at(train_table(draft)).defect(path, f"{name} is {what}, which this field does not take")


def _fill(compass: Compass, place: Place, drafts: Sequence[Draft], layout: Layout) -> None:
    """Put the layout's figures into the fields; those out of a field's range are defects."""
    for draft, path, name, notes in list(_asked(drafts)):
        here, field = place.at(train_table(draft)), field_at(draft.part.fields, path) if draft.part else None
        found = layout.figures.get(name)
        if found is None:
            here.defect(path, f"the layout tells {name} only of drawn paths; say where all axes and the eyes stand")
            continue
        course: Course = {note: Given(found[note], ORIGIN) for note in notes if note in found}
        wrong = [note for note in course if field is not None and not inside(field, found[note])]
        if wrong and field is not None:
            ends = dict.fromkeys(written(field, end) for end in _ends([found[note] for note in wrong]))
            where = f"{name} of the layout is {' to '.join(ends)} at {compass.ranges(wrong)}"
            here.defect(path, f"{where}: out of range; {allowed_range(field)}")
        draft.courses[path] = {**draft.courses[path], **course}


def _ends(values: Sequence[float]) -> tuple[float, float]:
    return min(values), max(values)


def _warnings(file: str, compass: Compass, drawn: Drawn, layout: Layout | None) -> Iterator[str]:
    """Unusual sizes, what the layout remarks, and what contradicts it."""
    for read in drawn.tables:
        yield from unusual(file, read.table, read.fields, read.courses, compass)
    if layout is not None:
        yield from (f"{file}: {_TABLE}: {remark}" for remark in layout.remarks)
        yield from _contradictions(file, compass, drawn.run, layout)


def _contradictions(file: str, compass: Compass, run: Run, layout: Layout) -> Iterator[str]:
    """One line for every field whose own values are not those of the layout."""
    for one in (*run.rods, *run.stations):
        for path in ("length", "splay", "turn"):
            found = layout.figures.get(f"{one.name}.{path}", {})
            given = {note: value for note, value in one.courses.get(path, {}).items() if note in found}
            apart = [note for note, value in given.items() if _apart(path, value, found[note])]
            if not apart:
                continue
            unit = "m" if path == "length" else "rad"
            typed, laid = (
                " to ".join(dict.fromkeys(format_value(end, unit) for end in _ends(values)))
                for values in ([float(given[note].value) for note in apart], [found[note] for note in apart])
            )
            whence = " (not given)" if all(given[note].default for note in apart) else ""
            yield (
                f"{file}: [[train]] {one.name}, field '{path}' = {typed}{whence}: contradicts the layout, where it is "
                f"{laid} at {compass.ranges(apart)}; write {{ layout = true }} to take that"
            )


def _apart(path: str, given: Given, laid: float) -> bool:
    off = abs(float(given.value) - laid)
    return off > max(_APART, _SHARE * laid) if path == "length" else off > _TURNED
