"""Which rods are compared: a material by name, and the section that fits it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from keyaction.cases.action.case import Case, PartSpec
from keyaction.models.fields.values import Scalar
from keyaction.models.materials.library import UnknownMaterial
from keyaction.models.materials.types import Material
from keyaction.models.units.quantity import UnitProblem, format_value, parse_quantity
from keyaction.sim.compare.usual import ROUND, STRIP

Setting = tuple[str, Scalar]

AS_DRAWN = "case"
"""Stands for the trackers as the case has them."""
_FITS = {
    "wood": ("rectangle", "square"),
    "composite": ("round", "tube"),
    "metal": ("round", "tube"),
}
_SIZE = re.compile(r"\s*([0-9.]+)\s*(?:[x×*]\s*([0-9.]+)\s*)?([a-zA-Zµμ]+)\s*")
_MEASURED = ("stiffness", "mass")


@dataclass(frozen=True)
class Choice:
    """One of the things compared: its name, and the fields that it sets for the whole compass."""

    name: str
    settings: tuple[Setting, ...]


def trackers(case: Case) -> list[PartSpec]:
    """The trackers of a case, in train order."""
    return [part for part in case.parts if part.kind == "tracker"]


def read_rods(case: Case, texts: Sequence[str], defects: list[str]) -> list[Choice]:
    """Rods named on the command line.

    Parameters
    ----------
    case : Case
    texts : sequence of str
        A material ("redcedar"), a material with a size ("carbon-rod@2mm", "sitka-spruce@10x1.2mm"), or "case".
    defects : list of str
        Takes what is wrong.
    """
    parts = trackers(case)
    if not parts:
        defects.append("--rod: the case has no trackers; compare another field with --set")
        return []
    for part in parts:
        measured = [name for name in _MEASURED if part.fields.get(name)]
        if measured and any(text != AS_DRAWN for text in texts):
            fields = " and ".join(f"'{name}'" for name in measured)
            defects.append(
                f"--rod: {case.path.name}: [[train]] {part.name}, field {fields}: measured, so that the material does "
                "not change it; take it out to compare rods"
            )
    return [choice for text in texts if (choice := _read(case, parts, text, defects))]


def _read(case: Case, parts: Sequence[PartSpec], text: str, defects: list[str]) -> Choice | None:
    if text == AS_DRAWN:
        return Choice(AS_DRAWN, ())
    name, at, size = (piece.strip() for piece in text.partition("@"))
    try:
        material = case.library.get(name)
    except UnknownMaterial as problem:
        defects.append(f"--rod {text}: {problem}")
        return None
    if material.kind not in _FITS:
        defects.append(f"--rod {text}: '{material.name}' is a {material.kind}; a wood, composite or metal is needed")
        return None
    sizes = _sizes(text, size, material, defects) if at else None
    if at and sizes is None:
        return None
    own = tuple(setting for part in parts for setting in _settings(part, material, sizes))
    label = f"{material.name} {_written(material, sizes)}" if sizes else material.name
    return Choice(label, own)


def _sizes(text: str, size: str, material: Material, defects: list[str]) -> tuple[str, ...] | None:
    """Texts of one or two sizes with their unit."""
    found = _SIZE.fullmatch(size)
    example = "10x1.2mm" if material.kind == "wood" else "1.5mm"
    if found is None:
        defects.append(f"--rod {text}: '{size}' is no size; write e.g. {material.name}@{example}")
        return None
    numbers = [number for number in found.groups()[:2] if number]
    try:
        values = [parse_quantity(f"{number} {found[3]}", "m") for number in numbers]
    except UnitProblem as problem:
        defects.append(f"--rod {text}: {problem}; write e.g. {material.name}@{example}")
        return None
    if min(values) <= 0:
        defects.append(f"--rod {text}: a size must be above 0")
        return None
    return tuple(f"{number} {found[3]}" for number in numbers)


def _written(material: Material, sizes: Sequence[str]) -> str:
    shown = [format_value(parse_quantity(size, "m"), "m") for size in sizes]
    if len(shown) == 2:
        return f"{shown[0].split()[0]} x {shown[1]}"
    return shown[0] if material.kind != "wood" else f"{shown[0]} square"


def _settings(part: PartSpec, material: Material, sizes: Sequence[str] | None) -> list[Setting]:
    now = {str(given.value) for given in part.fields.get("section", {}).values()}
    if sizes is None and now and now <= set(_FITS[material.kind]):
        return [(f"{part.name}.material", material.name)]
    pieces = sizes or (STRIP if material.kind == "wood" else (ROUND,))
    if material.kind == "wood":
        section, fields = ("rectangle", ("width", "thickness")) if len(pieces) == 2 else ("square", ("width",))
    else:
        section, fields = ("tube", ("diameter", "wall")) if len(pieces) == 2 else ("round", ("diameter",))
    named = [("material", material.name), ("section", section), *zip(fields, pieces, strict=True)]
    return [(f"{part.name}.{field}", value) for field, value in named]
