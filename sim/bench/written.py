"""Edits written into the text of a case file."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from functools import partial

from keyaction.cases.text.edit import EditProblem, with_cell, with_values, without
from keyaction.cases.text.written import Names
from keyaction.sim.bench.edits import Edit, Ground, latest
from keyaction.sim.bench.laid import Gone, Laid, as_toml, field_of, overlaid, placed, point_of, row_step

_INNER = re.compile(r"\[\[?\s*train\s*\.")
"""The header of a table within a part: it belongs to the part before it."""
_NEXT = re.compile(r"^\[", re.MULTILINE)
_ONE = re.compile(r"^\[\[\s*train\s*\]\]", re.MULTILINE)


def written(ground: Ground, edits: Sequence[Edit], about: str = "") -> str:
    """The case's text with edits written into it, comments kept.

    Parameters
    ----------
    ground : Ground
    edits : sequence of Edit
    about : str
        A remark before tables that are added.

    Raises
    ------
    UnknownField
        As of `overlaid`.
    keyaction.cases.text.edit.EditProblem
        When the text cannot be changed so.
    """
    data = tomllib.loads(ground.text)
    data.setdefault("notes", {})
    found = placed(ground, data, edits)
    text = ground.text
    for index in sorted({int(names[1]) for names in found if names[0] == "train"}):
        own = {names[2:]: one for names, one in found.items() if names[:2] == ("train", str(index))}
        mine = [one for one in latest(edits) if one.note is None and one.part == list(ground.fields)[index]]
        text = _in_train(text, index, partial(_set_all, ground, own, _cells(ground, mine)))
    text = _with_laid(text, {names: one for names, one in found.items() if names[0] == "notes"}, about)
    if tomllib.loads(text) != overlaid(ground, tomllib.loads(ground.text), edits):
        raise EditProblem("the text stands in a form that cannot be changed")
    return text


def _cells(ground: Ground, edits: Sequence[Edit]) -> list[Edit]:
    """Edits of values alone, in lists of which nothing is taken out: those are written anew."""
    others = [one for one in edits if one.value is None or point_of(ground, one) is not None]
    anew = {_list_of(one) for one in others}
    return [one for one in edits if one not in others and _list_of(one) not in anew]


def _list_of(one: Edit) -> tuple[str, ...]:
    steps = tuple(one.path.split("."))
    return steps[: row_step(steps)] or steps


def _with_laid(text: str, values: Mapping[Names, Laid], about: str = "") -> str:
    """The text with values set and others taken out."""
    for names in (names for names, one in values.items() if isinstance(one, Gone)):
        text = without(text, names)
    return with_values(text, {names: one for names, one in values.items() if not isinstance(one, Gone)}, about)


def _set_all(ground: Ground, values: Mapping[Names, Laid], edits: Sequence[Edit], piece: str) -> str:
    """One part's text with its values set: those in rows one by one, so that the rows stay as they are written."""
    plain = dict(values)
    for one in edits:
        steps = tuple(one.path.split("."))
        if rows := row_step(steps):
            names = ("train", *steps[:rows])
            try:
                value = as_toml(field_of(ground, one)[1], one.value or "")
                piece = with_cell(piece, names, int(steps[rows]), steps[rows + 1 :], value)
                plain.pop(steps[:rows], None)
            except EditProblem:
                continue  # then the whole list is written anew
    return _with_laid(piece, {("train", *names): value for names, value in plain.items()})


def _in_train(text: str, index: int, change: Callable[[str], str]) -> str:
    """Change one of the [[train]] tables, the tables within it included."""
    starts = [found.start() for found in _ONE.finditer(text)]
    if index >= len(starts):
        raise EditProblem("[[train]] stands in a form that cannot be changed; write each part under a header")
    begin = starts[index]
    end = next(
        (found.start() for found in _NEXT.finditer(text, begin + 1) if not _INNER.match(text, found.start())), len(text)
    )
    made = change(_ONE.sub("[train]", text[begin:end], count=1))
    return text[:begin] + made.replace("[train]", "[[train]]", 1) + text[end:]
