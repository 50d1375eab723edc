"""The [notes.NOTE.PART] tables: other values for one note."""

from __future__ import annotations

from collections.abc import Mapping

from keyaction.cases.action.train import Draft
from keyaction.cases.fields.context import Context, Scope
from keyaction.cases.fields.tables import Reading, TableReader
from keyaction.cases.text.defects import BadValue, Place
from keyaction.cases.text.near import hint
from keyaction.models.parts import PARTS


def apply_notes(context: Context, place: Place, data: Mapping[str, object], drafts: list[Draft]) -> None:
    """Put the values of the [notes] tables into the parts; defects go into the log of `place`."""
    seen: dict[int, str] = {}
    for text, tables in data.items():
        here = place.at(f"[notes.{text}]")
        try:
            note = context.compass.read(text)
        except BadValue as problem:
            here.defect("", str(problem))
            continue
        if note in seen:
            here.defect("", f"the same note as [notes.{seen[note]}]; put both into one table")
        seen[note] = text
        if not isinstance(tables, dict):
            here.defect("", f"a table for each part is needed: [notes.{text}.PART]", tables)
            continue
        for name, fields in tables.items():
            _apply(context, here.at(f"[notes.{text}.{name}]"), note, name, fields, drafts)


def _apply(context: Context, place: Place, note: int, name: str, data: object, drafts: list[Draft]) -> None:
    draft = next((one for one in drafts if one.name == name), None)
    if draft is None:
        place.defect("", f"unknown part '{name}'{_taken_out(name, drafts) or hint(name, [one.name for one in drafts])}")
    elif not isinstance(data, dict):
        place.defect("", "a table of the part's fields is needed", data)
    elif draft.part is not None:
        origin = f"case, override for {context.compass.name(note)}"
        scope = Scope((note,), origin, fixed=True, whole=False, one_note=True, of_train=True)
        _merge(draft, note, TableReader(context, scope, place).read(draft.part.fields, data))


def _taken_out(name: str, drafts: list[Draft]) -> str:
    """What to do about a name that sounds of a kind of part that the train no longer has; empty if it does not."""
    there = {one.kind for one in drafts}
    kind = next((kind for kind in PARTS if kind in name and kind not in there), None)
    if kind is None:
        return ""
    return f"; the train has no {kind}: put its [[train]] table back, or take this table out"


def _merge(draft: Draft, note: int, reading: Reading) -> None:
    """The override's values replace single fields; a list of rows is replaced as a whole."""
    for rows in reading.rows:
        for path, course in draft.courses.items():
            if path.startswith(f"{rows}."):
                course.pop(note, None)
    for path, course in reading.courses.items():
        draft.courses.setdefault(path, {}).update(course)
