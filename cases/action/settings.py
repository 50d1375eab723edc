"""Values set from outside the file, for the whole compass."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Protocol

from keyaction.cases.action.own_materials import property_of, with_properties
from keyaction.cases.action.strokes import NO_NOTE, STROKE_FIELDS
from keyaction.cases.action.train import Draft
from keyaction.cases.fields.context import Context, Course, Scope
from keyaction.cases.fields.courses import read_course
from keyaction.cases.fields.kinds import from_text, read_scalar
from keyaction.cases.fields.tables import field_at, paths
from keyaction.cases.text.defects import BadValue, Place
from keyaction.cases.text.near import hint
from keyaction.cases.text.signs import unseen
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Scalar

ORIGIN = "set for the whole compass"
STROKES, MATERIALS = "strokes", "materials"
"""What a setting may begin with beside the name of a part."""

Settings = Mapping[str, Scalar] | Sequence[tuple[str, Scalar]]
"""Values by field, such as ``{"roller.length": "20 mm", "materials.sitka-spruce.E": "9 GPa"}``, or as pairs."""


class Settable(Protocol):
    """A table whose fields may be set from outside, as `keyaction.cases.seasons.ground.TableRead` is."""

    @property
    def name(self) -> str: ...

    @property
    def fields(self) -> Sequence[Field]: ...

    @property
    def courses(self) -> dict[str, Course]: ...


def pairs(settings: Settings) -> tuple[tuple[str, Scalar], ...]:
    """Settings as (field, value) pairs in order.

    Raises
    ------
    TypeError
        When they are neither a mapping nor pairs, or a field is no text.
    """
    given = settings.items() if isinstance(settings, Mapping) else settings
    found = tuple(given) if isinstance(given, Iterable) and not isinstance(given, str | bytes) else (given,)
    for pair in found:
        if not isinstance(pair, tuple | list) or len(pair) != 2 or not isinstance(pair[0], str):
            raise TypeError(f'set_ has {pair!r}; fields with values are needed: {{"roller.length": "20 mm"}}, or pairs')
    return tuple((path, value) for path, value in found)


def apply_settings(
    context: Context,
    place: Place,
    settings: Sequence[tuple[str, Scalar]],
    drafts: list[Draft],
    strokes: dict[str, Course],
    others: Sequence[Settable] = (),
) -> Context:
    """Put settings such as ("roller.length", "20 mm") or ("strokes.down", "30 ms") over the file's values.

    `others` are tables beside the train that settings may reach; a part of the same name goes before. Overrides of
    single notes give way to settings. Defects go into the log of `place`.

    Returns
    -------
    Context
        With the materials as they are set.
    """
    place = place.at("set")
    targets, beside = {one.name: one for one in drafts}, {one.name: one for one in others}
    for path, value in settings:
        name, _, inner = path.partition(".")
        if isinstance(value, str) and (sign := unseen(value)):
            place.defect(path, f"holds {sign}; leave it out", value)
        elif name == STROKES:
            _set(context, place, path, inner, value, STROKE_FIELDS, strokes, (NO_NOTE,))
        elif name == MATERIALS:
            context = _with_material(context, place, path, inner, value)
        elif name not in targets and name in beside:
            table = beside[name]
            _set(context, place, path, inner, value, table.fields, table.courses, context.compass.notes)
        elif name not in targets:
            place.defect(path, f"unknown part '{name}'{hint(name, [*targets, *beside, STROKES, MATERIALS])}", value)
        elif (part := targets[name].part) is not None:
            notes = context.compass.notes
            _set(context, place, path, inner, value, part.fields, targets[name].courses, notes)
    return context


def _with_material(context: Context, place: Place, path: str, inner: str, value: Scalar) -> Context:
    """The context with one property of one material set."""
    try:
        material, field = property_of(context.library, inner)
        found = float(read_scalar(field, from_text(field, value), context.library))
    except BadValue as problem:
        place.defect(path, str(problem), value)
        return context
    return replace(context, library=with_properties(context.library, {(material, field.name): found}, ORIGIN))


def _set(
    context: Context,
    place: Place,
    path: str,
    inner: str,
    value: Scalar,
    fields: Sequence[Field],
    courses: dict[str, Course],
    notes: tuple[int, ...],
) -> None:
    field = field_at(fields, inner)
    if field is None:
        known = [*courses, *(one for one, _ in paths(fields) if "*" not in one)]
        within = [one for one in known if one.startswith(f"{inner}." if inner else "")]
        if within:
            whole = path.rstrip(".")
            some = ", ".join(f"{whole}.{one.removeprefix(inner).lstrip('.')}" for one in within[:3])
            place.defect(path, f"a field of {whole} is wanted, each with its value: {some}", value)
            return
        place.defect(path, f"unknown field '{inner}'{hint(inner, known)}", value)
        return
    if not _row_is_there(fields, inner, courses):
        place.defect(path, "there is no such row in the case", value)
        return
    scope = Scope(notes, ORIGIN, fixed=True)
    course = read_course(context, scope, place, field, path, from_text(field, value))
    if course:
        courses[inner] = course


def _row_is_there(fields: Sequence[Field], inner: str, courses: Mapping[str, Course]) -> bool:
    """Whether the row that a path such as "leads.0.mass" names is in the case."""
    if any(path == inner for path, _ in paths(fields)):
        return True
    steps = inner.split(".")
    number = next(index for index, step in enumerate(steps) if step.isdecimal())
    row = ".".join(steps[: number + 1]) + "."
    return any(path.startswith(row) for path in courses)
