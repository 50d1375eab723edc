"""One cell of a sheet as a figure in SI: a plain number in the unit of its heading, or one with a unit of its own."""

from __future__ import annotations

import re
from dataclasses import dataclass

from keyaction.cases.text.defects import BadValue
from keyaction.models.units.names import STANDARD_GRAVITY
from keyaction.models.units.quantity import UnitProblem, kind_of, parse_quantity, unit_label

HOLES = ("", "-", "--", "–", "—", "n/a", "na", "none", "?")
"""What people write where nothing was read."""
_PLAIN = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_FRACTION = re.compile(r"[-+]?[0-9 ]*([0-9]/[0-9]+|[½¼¾⅛⅜⅝⅞])")
_THOUSANDS = re.compile(r"[+-]?[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+|[+-]?[0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+")
_COMMA = re.compile(r"([+-]?[0-9]*),([0-9]+)")


@dataclass(frozen=True)
class Scale:
    """How the cells of a column become SI: the unit of plain numbers, what one of it is, and what is allowed, SI."""

    si: str
    unit: str
    each: float
    low: float
    high: float

    def read(self, cell: str) -> float | None:
        """The value of a cell in SI; None where it is a hole.

        Raises
        ------
        BadValue
            If it is no number, of another kind, or cannot be.
        """
        text = tidy(cell)
        if text.lower() in HOLES:
            return None
        if _THOUSANDS.match(cell.strip()):
            raise BadValue("a separator of thousands cannot be told from a point; leave it out")
        plain = bool(_PLAIN.fullmatch(text))
        if plain:
            value = float(text) * self.each
        else:
            value = measured(f"{text} {self.unit}" if _FRACTION.fullmatch(text) else text, self.si)
        if self.low <= value <= self.high:
            return value
        low, high = (f"{one / self.each:.4g}" for one in (self.low, self.high))
        told = f"cannot be: {low} to {high} {unit_label(self.unit)} is allowed"
        if self.si == "m" and plain and value > 0:
            told += "; is it a force?"
        raise BadValue(told)


def scale(si: str, unit: str, low: float, high: float) -> Scale:
    """Plain numbers in a unit.

    Raises
    ------
    BadValue
        If it is no unit of the kind.
    """
    return Scale(si, unit, measured(f"1 {unit}", si), low, high)


def tidy(cell: str) -> str:
    """A cell with a point for the comma, a plain minus, and no quote before a number."""
    text = cell.strip().removeprefix("'").replace("−", "-")
    found = _COMMA.match(text)
    return f"{found[1]}.{found[2]}{text[found.end() :]}" if found and "." not in text else text


def unquoted(text: str) -> str:
    """Words without the quote that keeps a spreadsheet from running them."""
    return text[1:] if text.startswith(("'=", "'+", "'-", "'@")) else text


def measured(text: str, si: str) -> float:
    """A number with its unit in SI; a mass counts as its weight where a force is wanted.

    Raises
    ------
    BadValue
        If it is none.
    """
    try:
        if si == "N" and _is_mass(text):
            return parse_quantity(text, "kg") * STANDARD_GRAVITY
        return parse_quantity(text, si)
    except UnitProblem as problem:
        raise BadValue(str(problem)) from None


def _is_mass(text: str) -> bool:
    unit = re.sub(r"^[^A-Za-z°%µ]*", "", text)
    try:
        return bool(unit) and kind_of(unit) == "mass"
    except UnitProblem:
        return False
