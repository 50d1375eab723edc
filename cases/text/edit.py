"""A TOML text with some of its values set; all else, comments and layout too, stays as it was written."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from copy import deepcopy
from typing import Any

from keyaction.cases.text.written import Names, Written, dotted, entry, literal, value_at


class EditProblem(ValueError):
    """A text that cannot be given these values."""


def with_values(text: str, values: Mapping[Names, Written], remark: str = "") -> str:
    """Set values in tables of a TOML text.

    A value of a table that the text has, in whatever form, is set there. Other tables are added at the end, unless
    they belong into one that is written in braces.

    Parameters
    ----------
    text : str
        TOML; its line ends are kept.
    values : mapping
        Names of the tables from outside in, and of the key, to the value.
    remark : str
        A comment before the tables that are added.

    Returns
    -------
    str
        The same text if it has those values already.

    Raises
    ------
    EditProblem
        If the text is no TOML, one of the tables is something else there, or a value is a table with a header.
    """
    if "\r\n" in text and "\n" not in text.replace("\r\n", ""):
        return with_values(text.replace("\r\n", "\n"), values, remark).replace("\n", "\r\n")
    data = _read(text)
    wanted, meant = deepcopy(data), {names: _read(f"x = {literal(value)}")["x"] for names, value in values.items()}
    for names, value in meant.items():
        _set(wanted, names, value)
    changed = {names: value for names, value in values.items() if value_at(data, names) != meant[names]}
    added = _to_add(text, {names: value for names, value in changed.items() if value_at(data, names) is None})
    inside = {names: value for names, value in changed.items() if names not in added}
    edited = _add(_set_inside(text, inside), added, remark)
    found = _read(edited)
    if found != wanted:
        wrong = next((names for names, value in meant.items() if value_at(found, names) != value), next(iter(values)))
        raise EditProblem(f"{dotted(wrong)} stands in a form that cannot be changed")
    return edited


def without(text: str, names: Names) -> str:
    """Take out a key, or a whole table, wherever it stands; remarks in its line go with it.

    Parameters
    ----------
    text : str
        TOML; its line ends are kept.
    names : tuple of str
        Names of the tables from outside in, and of the key.

    Raises
    ------
    EditProblem
        If the text is no TOML, or the key stands in a form that cannot be taken out.
    """
    from keyaction.cases.text.edit_in_place import take_out  # here, as its library is slow to import

    if "\r\n" in text and "\n" not in text.replace("\r\n", ""):
        return without(text.replace("\r\n", "\n"), names).replace("\n", "\r\n")
    wanted = _read(text)
    table = value_at(wanted, names[:-1])
    if not isinstance(table, dict) or names[-1] not in table:
        return text
    del table[names[-1]]
    edited = take_out(text, names)
    found = _read(edited)
    if found != wanted:
        raise EditProblem(f"{dotted(names)} stands in a form that cannot be changed")
    return edited


def with_cell(text: str, names: Names, row: int, steps: Names, value: Written) -> str:
    """Set one value of one row of a list of tables.

    Parameters
    ----------
    text : str
        TOML; its line ends are kept.
    names : tuple of str
        Names of the list from outside in.
    row : int
    steps : tuple of str
        Names of the value within the row.
    value : str, bool, number, or tables and lists of them

    Raises
    ------
    EditProblem
        If the text is no TOML, or has no such row in a form that can be changed.
    """
    from keyaction.cases.text.edit_in_place import set_cell  # here, as its library is slow to import

    if "\r\n" in text and "\n" not in text.replace("\r\n", ""):
        return with_cell(text.replace("\r\n", "\n"), names, row, steps, value).replace("\n", "\r\n")
    wanted = _read(text)
    rows = value_at(wanted, names)
    if not isinstance(rows, list) or row >= len(rows) or not isinstance(rows[row], dict):
        raise EditProblem(f"{dotted(names)} has no row {row}")
    _set(rows[row], steps, _read(f"x = {literal(value)}")["x"])
    edited = set_cell(text, names, row, steps, value)
    if edited is None or _read(edited) != wanted:
        raise EditProblem(f"{dotted(names)} stands in a form that cannot be changed")
    return edited


def _read(text: str) -> dict[str, Any]:
    """The data, to be compared: a number with a point as it is written, since nan equals nothing."""
    try:
        return tomllib.loads(text, parse_float=lambda written: (written,))
    except tomllib.TOMLDecodeError as problem:
        raise EditProblem(f"not readable as TOML: {problem}") from None


def _set(data: dict[str, Any], names: Names, value: object) -> None:
    for depth, name in enumerate(names[:-1], 1):
        data = data.setdefault(name, {})
        if not isinstance(data, dict):
            raise EditProblem(f"{dotted(names[:depth])} is not a table")
    data[names[-1]] = value


def _set_inside(text: str, values: Mapping[Names, Written]) -> str:
    if not values:
        return text
    from keyaction.cases.text.edit_in_place import set_inside  # here, as its library is slow to import

    return set_inside(text, values)


def _to_add(text: str, values: Mapping[Names, Written]) -> dict[Names, Written]:
    """Those values whose table may be added at the end: it is not there, and belongs into none in braces."""
    if _may_add(text, values):
        return dict(values)
    return {names: value for names, value in values.items() if _may_add(text, {names: value})}


def _may_add(text: str, values: Mapping[Names, Written]) -> bool:
    try:
        tomllib.loads(_add(text, values, ""))
    except tomllib.TOMLDecodeError:
        return False
    return True


def _add(text: str, values: Mapping[Names, Written], remark: str) -> str:
    if not values:
        return text
    tables: dict[Names, list[str]] = {}
    for names, value in values.items():
        tables.setdefault(names[:-1], ["", f"[{dotted(names[:-1])}]"]).append(entry(names[-1:], value))
    head = ["", f"# {remark}"] if remark else []
    return "\n".join([text.rstrip("\n"), *head, *(line for table in tables.values() for line in table)]) + "\n"
