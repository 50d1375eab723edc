"""Fields that take figures of the layout: which they are, whether it tells them, and their values."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from keyaction.cases.action.train import Draft, train_table
from keyaction.cases.fields.allowed import allowed_range, inside, written
from keyaction.cases.fields.asked import ORIGIN, Asked
from keyaction.cases.fields.compass import Compass
from keyaction.cases.fields.context import Context, Course
from keyaction.cases.fields.tables import field_at
from keyaction.cases.text.defects import Place
from keyaction.cases.text.near import hint
from keyaction.models.fields.values import Given
from keyaction.models.instrument.layout import Layout


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


def refuse_asked(context: Context, place: Place, drafts: Sequence[Draft]) -> None:
    """Record every field that takes a figure, where there is no layout."""
    for draft, path, name, _ in _asked(drafts) if context.asked else ():
        told = f"takes {name} of a layout, and there is none; write a [layout], or give a value"
        place.at(train_table(draft)).defect(path, told)


def check_names(place: Place, drafts: Sequence[Draft], known: Mapping[str, str]) -> None:
    """Record figures that no layout of this train tells, and those of another dimension."""
    for draft, path, name, _ in _asked(drafts):
        field = field_at(draft.part.fields, path) if draft.part else None
        if name not in known:
            place.at(train_table(draft)).defect(path, f"the layout tells no '{name}'{hint(name, known)}")
        elif field is not None and field.unit != known[name]:
            what = {"m": "a length", "rad": "an angle"}[known[name]]
            place.at(train_table(draft)).defect(path, f"{name} is {what}, which this field does not take")


def fill(compass: Compass, place: Place, drafts: Sequence[Draft], layout: Layout) -> None:
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
            at = [found[note] for note in wrong]
            ends = dict.fromkeys(written(field, end) for end in (min(at), max(at)))
            where = f"{name} of the layout is {' to '.join(ends)} at {compass.ranges(wrong)}"
            here.defect(path, f"{where}: out of range; {allowed_range(field)}")
        draft.courses[path] = {**draft.courses[path], **course}
