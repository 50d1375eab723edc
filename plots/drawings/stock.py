"""Of what the parts of a case are made at a note: material, section, and what a length of it weighs."""

from __future__ import annotations

import math
from dataclasses import dataclass

from keyaction.cases.action.case import Case, PartSpec
from keyaction.models.formulas.sections import SHAPES

_SIZES = {
    "round": ("diameter",),
    "tube": ("diameter", "wall"),
    "square": ("width",),
    "rectangle": ("width", "thickness"),
}


@dataclass(frozen=True)
class Stock:
    """What a rod or a shaft is cut from.

    Parameters
    ----------
    material : str
        Empty where the case does not say.
    section : str
        In words, sizes in mm; empty where the case does not say.
    width : float
        As it is seen from the front, m; NaN where it is not known.
    mass : float
        Of a metre, kg; NaN where it is not known.
    """

    material: str
    section: str
    width: float
    mass: float


def number(part: PartSpec | None, note: int, field: str) -> float:
    """A number that the case gives a part at a note, SI; NaN where it gives none."""
    course = part.fields.get(field) if part else None
    if not course or note not in course:
        return math.nan
    value = course[note].value
    return float(value) if isinstance(value, int | float) else math.nan


def words(part: PartSpec, note: int, field: str) -> str:
    """A word that the case gives a part at a note; empty where it gives none."""
    course = part.fields.get(field)
    return str(course[note].value) if course and note in course else ""


def stock(case: Case, part: PartSpec, note: int) -> Stock:
    """What a part is cut from."""
    material, shape = words(part, note, "material"), words(part, note, "section")
    sizes = [number(part, note, name) for name in _SIZES.get(shape, ())]
    told = " x ".join(f"{1000 * size:g}" for size in sizes)
    section = f"{shape} {told} mm" if sizes else shape
    return Stock(material, section, sizes[0] if sizes else math.nan, _mass(case, material, shape, sizes))


def _mass(case: Case, material: str, shape: str, sizes: list[float]) -> float:
    """Mass of a metre; NaN where the material has no density or the section no size."""
    found = case.library.get(material) if material in case.library else None
    if found is None or "density" not in found or not sizes or any(math.isnan(size) for size in sizes):
        return math.nan
    return SHAPES[shape](*sizes).area * float(found["density"].value)
