"""Bending of the bodies that rods hook onto: a static give in series with each rod, where sizes and material are known.

No coordinate is added: a body bends in step with the load, as it does below its own bending vibration.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Values
from keyaction.models.formulas.bending import FORM, Bow
from keyaction.models.formulas.sections import Section

SWITCH = Field(
    "bending",
    "whether it bends under its rods: counted where its sizes and material are given",
    kind="flag",
    default=True,
    source="from its sizes and modulus, where these are given",
)


def upright(breadth: float, deep: float) -> Section:
    """A bar that bends in the plane of its depth `deep` (m)."""
    return Section("rectangle", breadth * deep, breadth * deep**3 / 12, breadth * deep**3 / 12, 0.0)


def set_gives(values: Values, material: str, needs: Sequence[str], bar: Section | None, bows: dict[str, Bow]) -> None:
    """Record the give at each of the body's ends (``in``, ``out``), m/N; nothing where sizes or material lack.

    Parameters
    ----------
    values : Values
    material : str
        Field of the material.
    needs : sequence of str
        Fields that the give is computed from.
    bar : Section, optional
        Cross-section, bending about its weak axis.
    bows : dict of str to Bow
        By end.
    """
    if not switched_on(values):
        return
    if bar is None or not values.has(material, *needs):
        return
    bending, shearing = flexure(values, material, bar)
    for end, bow in bows.items():
        add_give(values, end, bow.give(bending, shearing))


def switched_on(values: Values) -> bool:
    """Whether the case wants the part to bend."""
    return values.has("bending") and bool(values.given["bending"].value)


def add_give(values: Values, end: str, give: float) -> None:
    """Add to the give at an end."""
    before = give_at(values, end)
    side = "the rod from the key" if end == "in" else "the rod to the pallet"
    doc = f"bending, per force, where {side} hooks on"
    values.fact(f"give_{end}", before + give, "m/N", doc, "beam of its sizes, with shear")


def give_at(values: Values, end: str) -> float:
    """The give at an end of a body, m/N; none where it is not counted."""
    found = values.derived.get(f"give_{end}")
    return found.value if found else 0.0


def flexure(values: Values, path: str, bar: Section) -> tuple[float, float]:
    """E I (N m2) and G A over the form factor (N) of a bar of the material at `path`.

    The modulus of a bending test has the test's own shear in it: with G known shear is counted apart, and wood's
    modulus is that along the grain.
    """
    material = values.material(path)
    modulus = _bent(values, path)
    if "G" not in material:
        return modulus * bar.weak_axis, math.inf
    if material.kind == "wood":
        modulus *= material.axial
    return modulus * bar.weak_axis, values.of(path, "G") * bar.area / FORM[bar.shape]


def slender(values: Values, path: str) -> float:
    """Modulus (Pa) of the material at `path` in a bar so slender that shear counts for nothing.

    A wood's tabulated modulus has the shear of its test bar, 14 times as long as deep, in it (Wood Handbook,
    FPL-GTR-190, 2010, ch. 5, from memory): without that it is the modulus along the grain.
    """
    return _bent(values, path) * values.material(path).axial


def _bent(values: Values, path: str) -> float:
    """Modulus of a bending test where the material has one apart, else its modulus, Pa."""
    return values.of(path, "E_flexural" if "E_flexural" in values.material(path) else "E")
