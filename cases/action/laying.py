"""Reading [layout], on whose keyboard, and laying the action out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from keyaction.cases.action.figures import check_names, fill, refuse_asked
from keyaction.cases.action.header import table_of
from keyaction.cases.action.laid import Laid
from keyaction.cases.action.layout_warnings import layout_warnings
from keyaction.cases.action.train import Draft
from keyaction.cases.fields.compass import Compass
from keyaction.cases.fields.context import Context
from keyaction.cases.layout.drawn import Drawn, read_drawn
from keyaction.cases.layout.keyboard import read_keyboard
from keyaction.cases.layout.member import Member, run_of
from keyaction.cases.layout.tables import Read, tables_of
from keyaction.cases.layout.within import Within
from keyaction.cases.text.defects import BadValue, Place
from keyaction.models.instrument.assemble import lay_out
from keyaction.models.instrument.keyboard import Keyboard
from keyaction.models.instrument.layout import Layout
from keyaction.models.instrument.problem import LayoutProblem

_TABLE = "[layout]"


def laid_out(
    context: Context, place: Place, data: Mapping[str, Any], within: Within | None, drafts: Sequence[Draft]
) -> Laid:
    """As `keyaction.cases.action.laid.lay`."""
    if "layout" not in data and within is None:
        refuse_asked(context, place, drafts)
        return Laid(context.compass)
    tables = tables_of(place.at(_TABLE), table_of(place, data, "layout"), within)
    keyboard, read = _keyboard(context, place, tables, within)
    if keyboard is None:
        return Laid(context.compass)
    kept = _kept(context.compass, place, keyboard, within)
    _refuse_notes(context.compass, place, data, kept, within)
    if "layout" not in data and within is not None and not within.tables:
        refuse_asked(context, place, drafts)
        return _some_notes(Laid(kept), context, place, drafts, keyboard, within)
    drawn, layout = _laid_out(context, place, tables, (keyboard, read), drafts, kept.notes, within)
    lines = () if drawn is None else tuple(layout_warnings(place.file, kept, drawn, layout))
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
    """The notes of the compass that the keyboard has; what goes beyond the ends of the case's own is a defect."""
    there = set(keyboard.notes)
    kept = tuple(note for note in compass.notes if note in there)
    beyond = [note for note in compass.notes if not keyboard.notes[0] <= note <= keyboard.notes[-1]]
    if beyond and within is None:
        ends = f"{compass.name(keyboard.notes[0])} to {compass.name(keyboard.notes[-1])}"
        place.at("[compass]").defect("", f"larger than the keyboard, {ends}: it has no {compass.ranges(beyond)}")
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
    if any(one.after for one in drafts):
        place.at(_TABLE).defect("", "a train that branches cannot be laid out; take [layout] out and give its lengths")
        return None, None
    run = run_of([_member(one) for one in drafts if one.part is not None])
    if run is None:
        if not place.log:
            message = "needs a train of key, rods and levers by turns, pallet, and a groove"
            place.at(_TABLE).defect("", message)
        return None, None
    drawn = read_drawn(context, place, tables, keyboard, run, notes, within)
    check_names(place, drafts, run.figures(drawn.fan if drawn else ""))
    if drawn is None or place.log:
        return drawn, None
    layout = _layout(context.compass, place, drawn, notes)
    if layout is not None and context.asked:
        fill(context.compass, place, drafts, layout)
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
