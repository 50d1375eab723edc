"""The table of spreads, read once: what each field of a part may deviate by."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Any

from keyaction.models.fields.fields import Field
from keyaction.models.materials.types import Property
from keyaction.models.parts.base import Part
from keyaction.models.units.quantity import UnitProblem, parse_quantity

MEASURES = ("quantity", "number")
"""Kinds of field that are uncertain; words, flags and counts are not."""
FORMS = ("normal", "even")
MOST = 1.0
"""Largest share: beyond it a figure is not known at all."""


@dataclass(frozen=True)
class Size:
    """How large one part of a spread is.

    Attributes
    ----------
    value : float
        A share of what the case gives, or a difference in SI units.
    share : bool
    """

    value: float
    share: bool


@dataclass(frozen=True)
class Spread:
    """How uncertain a figure is.

    Attributes
    ----------
    common, note : Size
        What is the same for the whole manual, and what is each note's own.
    form : str
        ``normal``: sizes are standard deviations; ``even``: half the width of a range in which all is alike.
    source, status : str
        Where that comes from, and how far it can be trusted.
    """

    common: Size
    note: Size
    form: str = "normal"
    source: str = ""
    status: str = "assumed"

    @property
    def told(self) -> str:
        """Source and status in words."""
        return self.source if self.status in ("given", "") else f"{self.status}: {self.source}"


@dataclass(frozen=True)
class Row:
    """One row of the table as it is written."""

    what: str
    fields: tuple[str, ...]
    common: str
    note: str
    form: str
    source: str
    status: str


@lru_cache(maxsize=1)
def _tables() -> Mapping[str, Mapping[str, Any]]:
    text = files("keyaction.models.spreads").joinpath("spreads.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@lru_cache(maxsize=1)
def rows() -> tuple[Row, ...]:
    """The rows of the table, in its order."""
    return tuple(
        Row(
            one["what"],
            tuple(one["fields"]),
            one["common"],
            one["note"],
            one.get("form", "normal"),
            one["source"],
            one["status"],
        )
        for one in _tables()["spread"].values()
    )


@lru_cache(maxsize=1)
def _by_path() -> Mapping[str, Row]:
    return {path: row for row in rows() for path in row.fields}


def read_size(text: object, field: Field) -> Size:
    """A part of a spread as text: a share ("5 %"), or a size in the field's unit.

    Raises
    ------
    UnitProblem
        If it is neither, or below nothing, or a share above `MOST`.
    """
    share = isinstance(text, str) and text.strip().endswith("%")
    if isinstance(text, str) and field.unit == "K" and re.search("deg[CF]", text):
        raise UnitProblem(f"'{text}' is a temperature; a difference of temperatures is written in K")
    value = parse_quantity(text, "1" if share or not field.unit else field.unit)  # type: ignore[arg-type]
    if not value >= 0.0 or (share and value > MOST):
        allowed = "0 % to 100 %" if share else "0 or more"
        raise UnitProblem(f"'{text}' is no size of a spread; allowed: {allowed}")
    return Size(value, share)


def spread_of(part: type[Part], path: str, field: Field) -> Spread | None:
    """The spread of a field of a part; of a part of somebody's own, that of the kind which it was made from.

    Parameters
    ----------
    part : type of Part
    path : str
        Dotted path of the field, a row's number as it is or ``*``.
    field : Field

    Returns
    -------
    Spread or None
        None for words, flags and counts, and for a field that the table does not have.
    """
    if field.kind not in MEASURES:
        return None
    general = ".".join("*" if step.isdecimal() else step for step in path.split("."))
    kinds = [kind for one in part.__mro__ if (kind := one.__dict__.get("kind"))]
    table = _by_path()
    row = next((table[name] for name in (*(f"{kind}.{general}" for kind in kinds), general) if name in table), None)
    if row is None:
        return None
    try:
        common, note = (read_size(text, field) for text in (row.common, row.note))
    except UnitProblem:  # a part of somebody's own, whose field is another thing of the same name
        return None
    return Spread(common, note, row.form, row.source, row.status)


def spread_of_material(kind: str, what: Property) -> Spread:
    """The spread of a property of a material of that kind."""
    table = _tables()["material"]
    split = table[kind]
    own = parse_quantity(split["note"], "1")
    unstated = table["unstated"]
    total = parse_quantity(unstated["spread"], "1") if what.spread is None else what.spread
    common, note = (Size(min(total * math.sqrt(part), MOST), True) for part in (1 - own, own))
    told = unstated if what.spread is None else split
    return Spread(common, note, "normal", told["source"], told["status"])
