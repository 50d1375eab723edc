"""What a part may be told: the declared fields of its table in a case file."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

FieldKind = Literal["quantity", "number", "count", "choice", "material", "text", "flag", "table", "rows"]

SLIP = 0.01
"""Share of the least usual value below which a size, a mass or a stiffness is a slip of its unit."""


@dataclass(frozen=True)
class Field:
    """One field of a part's table.

    Parameters
    ----------
    name : str
        The key in the case file.
    doc : str
        What it means, for messages, `keyaction check` and the starting case.
    unit : str
        SI unit of the value inside the program ("m", "N", "N*m/rad"); "" for kinds without one.
    kind : FieldKind
        ``quantity`` is text with a unit, ``number`` a plain number, ``count`` a whole number,
        ``table`` a nested table and ``rows`` a list of tables, both described by `fields`.
    low, high : float
        Allowed range in SI units, ends included.
    positive : bool
        Refuse zero and below, whatever `low` says; where `low` is not above zero and there is a usual range, also what
        is less than a hundredth of it (`least`).
    written : str
        The kind of quantity in whose trade unit it is written, where the unit alone does not say ("air pressure").
    usual : tuple of float, optional
        What the trade uses, in SI units; outside it `check` warns.
    usual_source : str
        Where the usual range comes from; empty if `source` says it.
    per_octave : tuple of float, optional
        What a value is usually multiplied by from a note to its octave; outside it `check` warns.
    default : float or str, optional
        Value in SI units (or text) used when the case is silent; always shown by `check`.
    source : str
        Where the default comes from, or else the usual range.
    choices : tuple of str
        The names that a ``choice`` may take.
    kinds : tuple of str
        Of a ``material`` the kinds that are offered beside each other; empty: that of the material that is there.
    fields : tuple of Field
        The inner fields of a ``table`` or of each row of ``rows``.
    varies : bool
        Whether the value may change over the compass (control points, CSV column, note override).
    """

    name: str
    doc: str
    unit: str = ""
    kind: FieldKind = "quantity"
    low: float = -math.inf
    high: float = math.inf
    positive: bool = False
    written: str = ""
    usual: tuple[float, float] | None = None
    usual_source: str = ""
    per_octave: tuple[float, float] | None = None
    default: float | str | bool | None = None
    source: str = ""
    choices: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()
    fields: tuple[Field, ...] = ()
    varies: bool = True

    @property
    def least(self) -> float:
        """The least value allowed: `low`, and of what must be above zero at least a hundredth of what is usual."""
        slip = self.positive and self.low <= 0 and self.usual is not None
        return SLIP * self.usual[0] if slip and self.usual else self.low

    @property
    def range_source(self) -> str:
        """Where the usual range comes from."""
        return self.usual_source or self.source


def length(name: str, doc: str, **options: object) -> Field:
    """A length in metres that must be above zero and below 20 m."""
    return Field(name, doc, unit="m", **{"positive": True, "high": 20.0, **options})  # type: ignore[arg-type]


def choice(name: str, doc: str, *choices: str, **options: object) -> Field:
    """A word out of `choices`; it fixes the shape of the equations, so it holds for the whole compass."""
    return Field(name, doc, kind="choice", choices=choices, varies=False, **options)  # type: ignore[arg-type]


def table(name: str, doc: str, *fields: Field) -> Field:
    """A nested table with fields of its own."""
    return Field(name, doc, kind="table", fields=fields)
