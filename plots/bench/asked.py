"""What a page asks: the body of a request, checked before anything is done with it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from keyaction.cases.text.signs import unseen
from keyaction.models.units.quantity import System
from keyaction.sim.bench.edits import Edit

MOST = 4000
"""Edits of one request."""
HIGHEST = 127
"""The highest note that a name can have."""
LONGEST = 400
"""Signs of a name or a value."""
_SYSTEMS: Mapping[object, System] = {"trade": "trade", "si": "prefixed"}
"""What a page calls units: a slider that goes by 0.0001 m is for nobody."""


class Misread(ValueError):
    """A body that is none of the bench's; of a value `part` and `path` say whose."""

    def __init__(self, text: str, part: str = "", path: str = "") -> None:
        super().__init__(text)
        self.part, self.path = part, path


@dataclass(frozen=True)
class Asked:
    """What a page asks for.

    Attributes
    ----------
    edits : tuple of Edit
    note : int, optional
    units : {"trade", "prefixed"}
    page : str
        Which page asks.
    turn : int
        How many times it has asked before.
    name : str
        Of a file to be saved.
    """

    edits: tuple[Edit, ...] = ()
    note: int | None = None
    units: System = "trade"
    page: str = ""
    turn: int = 0
    name: str = ""


def asked(body: bytes) -> Asked:
    """Read a body.

    Raises
    ------
    Misread
        When it is no JSON, or not of the form that `Asked` has.
    """
    try:
        data = json.loads(body or b"{}")
    except (ValueError, RecursionError):
        raise Misread("the body is no JSON") from None
    if not isinstance(data, dict):
        raise Misread("the body is no object")
    units = data.get("units", "trade")
    if not isinstance(units, str) or units not in _SYSTEMS:
        raise Misread("units: 'trade' or 'si'")
    edits = data.get("edits", [])
    if not isinstance(edits, list) or len(edits) > MOST:
        raise Misread(f"edits: a list of at most {MOST}")
    return Asked(
        tuple(_edit(one) for one in edits),
        _whole(data, "note"),
        _SYSTEMS[units],
        _text(data, "page"),
        _whole(data, "turn") or 0,
        _text(data, "name"),
    )


def _edit(data: Any) -> Edit:
    if not isinstance(data, dict):
        raise Misread("edits: each is an object")
    part, path = _text(data, "part"), _text(data, "path")
    if not part or not path:
        raise Misread("edits: each has a part and a path")
    if "value" not in data:
        raise Misread("edits: each has a value; null takes out what stands there")
    try:
        return _of(part, path, data)
    except Misread as problem:
        raise Misread(str(problem), part, path) from None


def _of(part: str, path: str, data: Mapping[str, Any]) -> Edit:
    value, note, keep = data["value"], _whole(data, "note"), _notes(data, "keep")
    if keep and note is not None:
        raise Misread("keep: notes that keep what they have, where all others are moved")
    if any(not 0 <= at <= HIGHEST for at in (note or 0, *keep)):
        raise Misread(f"note: 0 to {HIGHEST}")
    if value is None:
        return Edit(part, path, None, note, keep)
    if isinstance(value, Mapping):
        if not value or len(value) > 128:
            raise Misread("edits: control points are 1 to 128")
        return Edit(part, path, {_said(name): _said(one) for name, one in value.items()}, note, keep)
    return Edit(part, path, _said(value), note, keep)


def _notes(data: Mapping[str, Any], name: str) -> tuple[int, ...]:
    given = data.get(name, [])
    if not isinstance(given, list) or len(given) > 128:
        raise Misread(f"{name}: a list of at most 128 notes")
    return tuple(sorted({one for each in given if (one := _whole({name: each}, name)) is not None}))


def _said(value: Any) -> str:
    """A value as a text; of a number or a flag that which a case file has."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return f"{value:.12g}"
    if not isinstance(value, str) or len(value) > LONGEST:
        raise Misread(f"edits: a value is a text of at most {LONGEST} signs")
    return _seen(value)


def _text(data: Mapping[str, Any], name: str) -> str:
    value = data.get(name, "")
    if not isinstance(value, str) or len(value) > LONGEST:
        raise Misread(f"{name}: a text of at most {LONGEST} signs")
    return _seen(value)


def _seen(text: str) -> str:
    """The text, where a case file could hold it."""
    if sign := unseen(text):
        raise Misread(f"holds {sign}; leave it out")
    if any("\ud800" <= sign <= "\udfff" for sign in text):
        raise Misread("holds half of a sign; leave it out")
    return text


def _whole(data: Mapping[str, Any], name: str) -> int | None:
    value = data.get(name)
    if value is None:
        return None
    if not isinstance(value, int) or isinstance(value, bool) or not -(2**53) < value < 2**53:
        raise Misread(f"{name}: a whole number")
    return value
