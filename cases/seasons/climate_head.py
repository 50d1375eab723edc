"""The header of a climate's table: which column is what, in which unit, and how a cell of it is read."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from keyaction.cases.text.defects import BadValue, Place
from keyaction.cases.text.near import hint
from keyaction.models.units.quantity import UnitProblem, parse_quantity, unit_label

COLUMNS = ("date", "temperature", "humidity")
_NAME_AND_UNIT = re.compile(r"([^\[(]*?)\s*(?:[\[(]\s*([^\])]*?)\s*[\])])?")
_LONGEST = 100
_DEFAULTS = {"temperature": ("K", "temperature", "degC"), "humidity": ("1", "share", "%")}
"""SI unit, kind, and the unit of plain numbers without one in the header."""
_PLAIN = ("1", "share", "-")
"""What people write for a humidity of 0 to 1."""


@dataclass(frozen=True)
class Scale:
    """How the cells of a column become SI.

    Attributes
    ----------
    si, kind : str
        SI unit and words of the kind.
    unit : str
        Of plain numbers.
    zero, each : float
        What 0 is, and how much 1 is more, in SI.
    comma : bool
        Whether numbers may have a decimal comma.
    """

    si: str
    kind: str
    unit: str
    zero: float
    each: float
    comma: bool

    def read(self, cell: str) -> float:
        """The value of a cell in SI: a plain number, or one with a unit of its own.

        Raises
        ------
        BadValue
            If it is empty, no number, or of another kind.
        """
        try:
            number = float(cell)
        except ValueError:
            return self._written(cell.strip())
        if number - number != 0 or "_" in cell:  # infinite, or none: what Python takes and no table means
            raise BadValue("is no number")
        return self.zero + self.each * number

    def _written(self, text: str) -> float:
        if not text:
            raise BadValue("empty; every row needs a value")
        plain = text.replace(",", ".") if self.comma and "." not in text else text
        if plain != text or "−" in plain:
            try:
                return self.zero + self.each * float(plain.replace("−", "-"))
            except ValueError:
                pass
        try:
            return parse_quantity(plain, self.si, self.kind)
        except UnitProblem as problem:
            raise BadValue(str(problem)) from None

    def shown(self, value: float) -> str:
        """A value in SI as the table would have it."""
        return f"{(value - self.zero) / self.each:.6g} {unit_label(self.unit)}".strip()


@dataclass(frozen=True)
class Head:
    """Where each column stands, how its cells are read, and how many columns there are."""

    at: Mapping[str, int]
    scales: Mapping[str, Scale]
    width: int


def read_head(cells: list[str], comma: bool, place: Place) -> Head | None:
    """The header of a table.

    Parameters
    ----------
    cells : list of str
        Columns in any order and in capitals or not, a unit in brackets behind the name where it is not °C or %.
    comma : bool
        Whether numbers may have a decimal comma.
    place : Place
        Where defects go.

    Returns
    -------
    Head or None
        None where something is wrong.
    """
    before = len(place.log)
    if any("\t" in cell.strip() for cell in cells):
        place.defect("", "columns are separated by tabs; separate them by commas or semicolons")
        return None
    at: dict[str, int] = {}
    scales: dict[str, Scale] = {}
    for i, cell in enumerate(cells):
        found = _NAME_AND_UNIT.fullmatch(cell.strip()[:_LONGEST])
        name = found[1].lower() if found else cell.strip().lower()
        if name not in COLUMNS:
            place.defect("", f"unknown column{hint(name, COLUMNS)}", cell.strip())
        elif name in at:
            place.defect(name, "column given twice")
        else:
            at[name] = i
            if name in _DEFAULTS:
                _scale(name, (found[2] if found else None) or "", comma, scales, place)
    missing = [name for name in COLUMNS if name not in at]
    if missing:
        place.defect("", f"no column {', '.join(missing)}; needed: {', '.join(COLUMNS)}")
    return Head(at, scales, len(cells)) if len(place.log) == before else None


def _scale(name: str, unit: str, comma: bool, scales: dict[str, Scale], place: Place) -> None:
    si, kind, usual = _DEFAULTS[name]
    unit = unit or usual
    if name == "humidity" and unit.lower() in _PLAIN:
        scales[name] = Scale(si, kind, "", 0.0, 1.0, comma)
        return
    try:
        zero, one = (parse_quantity(f"{number} {unit}", si, kind) for number in (0, 1))
    except UnitProblem as problem:
        place.defect(name, f"no unit of this column: {problem}", unit)
        return
    scales[name] = Scale(si, kind, unit, zero, one - zero, comma)
