"""Which rods and rollers are compared: a material by name, the section that fits it, and the ends that go with it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from keyaction.cases.action.case import Case, PartSpec
from keyaction.cases.text.near import hint
from keyaction.models.fields.values import Scalar
from keyaction.models.materials.library import UnknownMaterial
from keyaction.models.materials.types import Material
from keyaction.models.units.quantity import UnitProblem, format_value, parse_quantity
from keyaction.sim.compare.usual import ROUND, ROUND_ROLLER, SQUARE_ROLLER, STRIP

Setting = tuple[str, Scalar]

AS_DRAWN = "case"
"""Stands for the case as it is."""
_FITS = {
    "wood": ("rectangle", "square"),
    "composite": ("round", "tube"),
    "metal": ("round", "tube"),
}
_SIZE = re.compile(r"\s*([0-9.]+)\s*(?:[x×*]\s*([0-9.]+)\s*)?([a-zA-Zµμ]+)\s*")
_END_FIELDS = {"kg": "end_mass", "N/m": "end_stiffness"}


@dataclass(frozen=True)
class Bar:
    """A kind of part whose material is exchanged.

    Attributes
    ----------
    option : str
    kind : str
        The part's kind, which is also its word.
    measured : tuple of str
        Fields that take the material's place.
    wood, other : tuple of str
        Sizes taken where the case's own section does not fit.
    example : str
        A size of wood for messages.
    prefix : str
        What stands before the material in a variant's name.
    """

    option: str
    kind: str
    measured: tuple[str, ...]
    wood: tuple[str, ...]
    other: tuple[str, ...]
    example: str
    prefix: str = ""


ROD = Bar("--rod", "tracker", ("stiffness", "mass"), STRIP, (ROUND,), "10x1.2mm")
ROLLER = Bar(
    "--roller",
    "roller",
    ("torsional_stiffness", "inertia", "mass"),
    (SQUARE_ROLLER,),
    (ROUND_ROLLER,),
    "24mm",
    "roller ",
)


@dataclass(frozen=True)
class Choice:
    """One of the things compared: its name, and the fields that it sets for the whole compass."""

    name: str
    settings: tuple[Setting, ...] = field(default=())


@dataclass(frozen=True)
class Sized:
    """A material with the sizes of its section as texts, where they are given."""

    material: Material
    sizes: tuple[str, ...] = ()

    @property
    def label(self) -> str:
        if not self.sizes:
            return self.material.name
        shown = [format_value(parse_quantity(size, "m"), "m") for size in self.sizes]
        if len(shown) == 2:
            return f"{self.material.name} {shown[0].split()[0]} x {shown[1]}"
        return f"{self.material.name} {shown[0]}{' square' * (self.material.kind == 'wood')}"


def trackers(case: Case) -> list[PartSpec]:
    """The trackers of a case, in train order."""
    return _of_kind(case, ROD.kind)


def guided(case: Case) -> list[PartSpec]:
    """The rods of a case that guides may hold, in train order: trackers and stickers."""
    return [part for part in case.parts if part.kind in (ROD.kind, "sticker")]


def _of_kind(case: Case, kind: str) -> list[PartSpec]:
    return [part for part in case.parts if part.kind == kind]


def read_bars(
    bar: Bar, case: Case, texts: Sequence[str], defects: list[str], ends: Mapping[str, Sequence[Setting]] | None = None
) -> list[Choice]:
    """Rods or rollers named on the command line.

    Parameters
    ----------
    bar : Bar
    case : Case
    texts : sequence of str
        A material ("redcedar"), a material with a size ("carbon-rod@2mm", "sitka-spruce@10x1.2mm"), or "case".
    defects : list of str
        Takes what is wrong.
    ends : mapping, optional
        Fields of the ends that go with a material, from `read_ends`.
    """
    parts = _of_kind(case, bar.kind)
    if not parts:
        defects.append(f"{bar.option}: the case has no {bar.kind}s; compare another field with --set")
        return []
    for part in parts:
        measured = [name for name in bar.measured if part.fields.get(name)]
        if measured and any(text != AS_DRAWN for text in texts):
            fields = " and ".join(f"'{name}'" for name in measured)
            defects.append(
                f"{bar.option}: {case.path.name}: [[train]] {part.name}, field {fields}: measured, so that the "
                f"material does not change it; take it out to compare {bar.option[2:]}s"
            )
    chosen: list[Choice] = []
    for text in texts:
        if text == AS_DRAWN:
            chosen.append(Choice(f"{bar.prefix}{AS_DRAWN}"))
        elif found := read_sized(bar, case, text, bar.option, defects):
            own = [setting for part in parts for setting in _settings(bar, part, found)]
            own += [
                (f"{part.name}.{what}", value)
                for part in parts
                for what, value in (ends or {}).get(found.material.name, ())
            ]
            chosen.append(Choice(f"{bar.prefix}{found.label}", tuple(own)))
    return chosen


def read_sized(bar: Bar, case: Case, text: str, option: str, defects: list[str]) -> Sized | None:
    """A material, or a material with a size ("carbon-rod@2mm"); None, with a defect, where it is neither."""
    name, at, size = (piece.strip() for piece in text.partition("@"))
    if name == AS_DRAWN:
        told = f"'{AS_DRAWN}' is the case's own {bar.option[2:]}s, which have their sizes; write {AS_DRAWN} alone"
        defects.append(f"{option} {text}: {told}, or a material with a size: MATERIAL@{bar.example}")
        return None
    try:
        material = case.library.get(name)
    except UnknownMaterial as problem:
        defects.append(f"{option} {text}: {problem}")
        return None
    if material.kind not in _FITS:
        defects.append(f"{option} {text}: '{material.name}' is a {material.kind}; a wood, composite or metal is needed")
        return None
    if not at:
        return Sized(material)
    sizes = _sizes(bar, f"{option} {text}", size, material, defects)
    return None if sizes is None else Sized(material, sizes)


def _sizes(bar: Bar, place: str, size: str, material: Material, defects: list[str]) -> tuple[str, ...] | None:
    """Texts of one or two sizes with their unit."""
    found = _SIZE.fullmatch(size)
    example = bar.example if material.kind == "wood" else bar.other[0].replace(" ", "")
    if found is None:
        defects.append(f"{place}: '{size}' is no size; write e.g. {material.name}@{example}")
        return None
    numbers = [number for number in found.groups()[:2] if number]
    try:
        values = [parse_quantity(f"{number} {found[3]}", "m") for number in numbers]
    except UnitProblem as problem:
        defects.append(f"{place}: {problem}; write e.g. {material.name}@{example}")
        return None
    if min(values) <= 0:
        defects.append(f"{place}: a size must be above 0")
        return None
    return tuple(f"{number} {found[3]}" for number in numbers)


def section_of(found: Sized) -> tuple[str, tuple[str, ...]]:
    """The section that sizes of a material stand for, and the fields that they are of."""
    two = len(found.sizes) == 2
    if found.material.kind == "wood":
        return ("rectangle", ("width", "thickness")) if two else ("square", ("width",))
    return ("tube", ("diameter", "wall")) if two else ("round", ("diameter",))


def _settings(bar: Bar, part: PartSpec, found: Sized) -> list[Setting]:
    material = found.material
    now = {str(given.value) for given in part.fields.get("section", {}).values()}
    if not found.sizes and now and now <= set(_FITS[material.kind]):
        return [(f"{part.name}.material", material.name)]
    sized = found if found.sizes else Sized(material, bar.wood if material.kind == "wood" else bar.other)
    section, fields = section_of(sized)
    named = [("material", material.name), ("section", section), *zip(fields, sized.sizes, strict=True)]
    return [(f"{part.name}.{what}", value) for what, value in named]


def read_ends(
    case: Case, texts: Sequence[str], rods: Sequence[str], defects: list[str]
) -> dict[str, tuple[Setting, ...]]:
    """Ends that go with a material of the trackers: the mass of a fitting, the stiffness of an end, or both.

    Parameters
    ----------
    case : Case
    texts : sequence of str
        ``"carbon-rod=0.9 g, 60 N/mm"``.
    rods : sequence of str
        What ``--rod`` names; ends of another material are refused.
    defects : list of str
        Takes what is wrong.
    """
    found: dict[str, tuple[Setting, ...]] = {}
    ignored: list[str] = []
    compared = [read_sized(ROD, case, rod, ROD.option, ignored) for rod in rods if rod != AS_DRAWN]
    there = {one.material.name for one in compared if one is not None}
    for text in texts:
        name, equals, given = (piece.strip() for piece in text.partition("="))
        if not (name and equals and given):
            defects.append(f"--ends {text}: write MATERIAL=MASS, STIFFNESS, e.g. --ends 'carbon-rod=0.9 g, 60 N/mm'")
            continue
        one = read_sized(ROD, case, name, "--ends", defects)
        settings = _end_settings(text, given, defects)
        if one is None or settings is None:
            continue
        if one.sizes:
            defects.append(f"--ends {text}: ends go with a material, whatever its size: write {one.material.name}=...")
        elif one.material.name in found:
            defects.append(f"--ends {text}: '{one.material.name}' is named twice")
        elif one.material.name not in there:
            named = ", ".join(sorted(there)) or "no material"
            defects.append(
                f"--ends {text}: '{one.material.name}' is not compared; --rod names {named}"
                f"{hint(one.material.name, sorted(there))}"
            )
        else:
            found[one.material.name] = settings
    return found


def _end_settings(text: str, given: str, defects: list[str]) -> tuple[Setting, ...] | None:
    settings: dict[str, Scalar] = {}
    for piece in (piece.strip() for piece in given.split(",")):
        what = next((name for unit, name in _END_FIELDS.items() if _is(piece, unit)), None)
        if what is None or what in settings:
            why = "is given twice" if what else "is neither a mass such as '0.9 g' nor a stiffness such as '60 N/mm'"
            defects.append(f"--ends {text}: '{piece}' {why}")
            return None
        settings[what] = piece
    return tuple(settings.items())


def _is(text: str, unit: str) -> bool:
    try:
        parse_quantity(text, unit)
    except UnitProblem:
        return False
    return True
