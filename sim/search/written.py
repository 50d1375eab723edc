"""A design as a case file: the text of the case that was searched, with the design's values in it."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import case_from
from keyaction.cases.fields.kinds import read_scalar
from keyaction.cases.study.inputs import STROKES, Input, Setting, Target
from keyaction.cases.study.search import Search, own_settings
from keyaction.cases.study.spans import Choices
from keyaction.cases.text.defects import BadValue
from keyaction.cases.text.edit import EditProblem, with_values
from keyaction.cases.text.textfile import read_text
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Given, Scalar
from keyaction.sim.bench.edits import Edit, Ground, UnknownField
from keyaction.sim.bench.laid import own_keys, value_in
from keyaction.sim.bench.units import as_text
from keyaction.sim.bench.written import written
from keyaction.sim.files.problem import FileProblem, unwritten
from keyaction.sim.files.replace import replacing
from keyaction.sim.search.optimiser import Floats


def settings_at(search: Search, row: Floats) -> Iterator[tuple[Setting, str]]:
    """What a design sets, and how: its value, or a factor, or what is added."""
    for one, u in zip(search.inputs, row, strict=True):
        if np.isnan(u):  # as the case has it
            continue
        found = one.span.at(np.array([u]))[0]
        if not isinstance(one.span, Choices):
            yield from (((target, float(found)), one.how) for target in one.targets)
        else:
            yield from ((setting, "value") for setting in _chosen(one, int(found)))


def _chosen(one: Input, number: int) -> tuple[Setting, ...]:
    assert isinstance(one.span, Choices)
    return one.settings[number] if one.settings else tuple((target, one.span.values[number]) for target in one.targets)


def design_text(search: Search, row: Floats, about: str = "") -> str:
    """The text of the case with a design's values: one value for the whole compass, factors on what stands there.

    Raises
    ------
    FileProblem
        When the text stands in a form that cannot be changed.
    """
    case = search.case
    own = {tuple(path.split(".", 1)): value for path, value in own_settings(case)}
    edits = [Edit(part, path, _plain(value)) for (part, path), value in own.items() if part != STROKES]
    data = tomllib.loads(case.text)
    for (target, value), how in settings_at(search, row):
        edits += _edits(case, data, target, value, how)
    strokes = {(part, *path.split(".")): value for (part, path), value in own.items() if part == STROKES}
    try:
        text = written(Ground.of(case), edits, about)
        return with_values(text, strokes, about) if strokes else text
    except (EditProblem, UnknownField) as problem:
        raise FileProblem(f"{case.path.name}: {problem}; so this design cannot be written into it") from None


def _edits(case: Case, data: Mapping[str, Any], target: Target, value: Scalar, how: str) -> list[Edit]:
    """A setting as edits, in the unit of what stands in the file."""
    place, inner, steps = target.place, target.inner, tuple(target.inner.split("."))
    like = value_in(data, ("train", str([part.name for part in case.parts].index(place)), *steps))
    if how == "value":
        return [Edit(place, inner, _text(target.field, value, like))]
    course = case.part(place).fields[inner]
    moved = {note: _moved(float(one.value), float(value), how) for note, one in course.items()}
    if len(set(moved.values())) == 1 and set(moved) == set(case.compass):
        return [Edit(place, inner, _text(target.field, next(iter(moved.values())), like))]
    whole = None if target.path in dict(case.settings) else _whole(case, target.field, like, float(value), how)
    keys = own_keys(Ground.of(case), data)
    own = [note for note in moved if value_in(data, ("notes", keys.get(note, ""), place, *steps)) is not None]
    notes = [Edit(place, inner, _text(target.field, moved[note], like), note) for note in (own if whole else moved)]
    return [Edit(place, inner, whole), *notes] if whole else notes


def _whole(case: Case, field: Field, like: object, value: float, how: str) -> str | dict[str, str] | None:
    """What stands in the file for the whole compass, moved: one value, or control points; None of anything else."""
    if isinstance(like, Mapping):
        if "between" not in like or how != "factor":  # between points that are all multiplied all is multiplied
            return None
        found = {name: _whole(case, field, one, value, how) for name, one in like.items() if name != "between"}
        points = {name: one for name, one in found.items() if isinstance(one, str)}
        return {"between": str(like["between"]), **points} if len(points) == len(found) else None
    try:
        own = float(read_scalar(field, like, case.library))
    except (BadValue, ValueError, TypeError):
        return None
    return _text(field, _moved(own, value, how), like)


def _moved(own: float, value: float, how: str) -> float:
    return own * value if how == "factor" else own + value


def _text(field: Field, value: Scalar, like: object) -> str:
    """A value as a case file has it."""
    return _plain(as_text(field, Given(value, "search"), like))


def _plain(value: object) -> str:
    return value if isinstance(value, str) else str(value).lower() if isinstance(value, bool) else f"{value:.10g}"


def read_again(case: Case, text: str) -> Case:
    """The case that a text is, read where the first one stands.

    Raises
    ------
    CaseProblem
        When the design's values do not fit the case: of notes that were not played, for instance.
    """
    return case_from(case.path, text, tomllib.loads(text), within=case.within)


def write_design(path: Path, text: str, files: Mapping[str, str], force: bool) -> list[Path]:
    """Write a case and the CSV files that it needs beside it; all of them or none.

    Raises
    ------
    FileProblem
        When a file of another content is there, unless forced, or one cannot be written.
    """
    wanted = {path: text, **{path.parent / name: content for name, content in files.items()}}
    wanted = {place: content for place, content in wanted.items() if not _holds(place, content)}
    if taken := [str(place) for place in wanted if place.exists() and not force]:
        raise FileProblem(f"{', '.join(taken)}: there already; choose another --out, or give --force to write over it")
    try:
        with ExitStack() as stack:
            for place, content in wanted.items():
                place.parent.mkdir(parents=True, exist_ok=True)
                stack.enter_context(replacing(place)).write_text(content, encoding="utf-8", newline="")
    except OSError as problem:
        raise unwritten(path, problem, "choose another --out") from None
    return [path, *(place for place in wanted if place != path)]


def _holds(place: Path, content: str) -> bool:
    try:
        return place.exists() and read_text(place) == content
    except BadValue:
        return False
