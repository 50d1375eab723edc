"""Materials in tables: a list by kind, and everything about one."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import groupby

from rich.box import SIMPLE_HEAD
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from keyaction.models.formulas.wood import (
    ZERO_CELSIUS,
    Climate,
    Way,
    across_expansion,
    length_strain,
    oven_dry_gravity,
    width_strain,
)
from keyaction.models.materials.library import Library
from keyaction.models.materials.reading import KINDS
from keyaction.models.materials.shown import PER_MILLION, shown_property, source_of
from keyaction.models.materials.types import Material, WireStrength
from keyaction.sim.commands.caution import CAUTION, FIBRES
from keyaction.sim.commands.common import WIDTH
from keyaction.sim.compare.usual import SUMMER, WINTER
from keyaction.sim.tables.sheet import NONE, Cell, Column, Sheet

SOLID = ("wood", "composite", "metal")
_SHOP_WIRE = 1e-3
"""m: the diameter for which a list gives the strength of wire."""
_WARMER = 10.0
"""K: what a list gives the growth by heat for."""
_WAYS: tuple[Way, ...] = ("radial", "tangential")
_ACROSS = {
    "radial": "(32.4 G + 9.9) e-6/K",
    "tangential": "(32.4 G + 18.4) e-6/K",
}
_NOT_ASKED = ("E_flexural", "specific_gravity", "strength")
"""Properties without which nothing is missing: told where they are known."""


def list_sheets(chosen: Sequence[Material]) -> Iterator[Sheet]:
    """A sheet for each kind there is among the chosen materials."""
    for kind, make in _SHEETS.items():
        of_kind = [one for one in chosen if one.kind == kind]
        if of_kind:
            yield make(of_kind)


def _value(material: Material, name: str, per: float = 1.0) -> float:
    return material[name].value / per if name in material else math.nan


_SOLID_COLUMNS = (
    Column("name", text=True),
    Column("density", "kg/m³", 0),
    Column("E", "GPa"),
    Column("G", "GPa"),
    Column("heat", "e-6/K"),
)


def _solid(one: Material) -> list[Cell]:
    figures = (("density", 1.0), ("E", 1e9), ("G", 1e9), ("thermal_expansion", PER_MILLION))
    return [one.name, *(_value(one, name, per) for name, per in figures)]


def _woods(chosen: Sequence[Material]) -> Sheet:
    moisture = (Column("along", "%"), Column("radial", "%/%"), Column("tangential", "%/%"))
    named = ("shrinkage_longitudinal", "movement_radial", "movement_tangential")
    rows = [[*_solid(one), *(_value(one, name, 0.01) for name in named)] for one in chosen]
    note = (
        "At 12 % moisture content, along the grain. heat: expansion. Moisture: along, % of length from green to dry; "
        f"radial and tangential, % per 1 % of moisture content. {NONE}: no source."
    )
    return Sheet("woods", "Kind wood", [*_SOLID_COLUMNS, *moisture], rows, note)


def _composites(chosen: Sequence[Material]) -> Sheet:
    return _bars(chosen, "composite", "Along the fibre or the tube. They take up next to no moisture.")


def _metals(chosen: Sequence[Material]) -> Sheet:
    return _bars(chosen, "metal", f"Strength: of wire at {1e3 * _SHOP_WIRE:g} mm. They take up no moisture.")


def _bars(chosen: Sequence[Material], kind: str, note: str) -> Sheet:
    rows = [[*_solid(one), _strength(one)] for one in chosen]
    columns = [*_SOLID_COLUMNS, Column("strength", "MPa", 0)]
    return Sheet(f"{kind}s", f"Kind {kind}", columns, rows, f"{note} heat: expansion. {NONE}: no source.")


def _strength(one: Material) -> float:
    """Of wire at one diameter, else of the material, MPa."""
    try:
        return one.wire_strength(_SHOP_WIRE) / 1e6
    except ValueError:
        return _value(one, "strength", 1e6)


def _cloths(chosen: Sequence[Material]) -> Sheet:
    columns = [
        Column("name", text=True),
        Column("stiffness", "kPa"),
        Column("damping", "s/m"),
        Column("status", text=True),
    ]
    rows: list[list[Cell]] = [
        [one.name, _value(one, "stiffness", 1e3), _value(one, "alpha"), one["stiffness"].status] for one in chosen
    ]
    return Sheet("cloths", "Kind cloth", columns, rows, "Felt, leather, cloth: stress is stiffness x strain^1.5.")


def _frictions(chosen: Sequence[Material]) -> Sheet:
    columns = [Column("name", text=True), Column("sliding"), Column("static"), Column("status", text=True)]
    rows: list[list[Cell]] = [
        [one.name, _value(one, "coefficient"), _value(one, "static_coefficient"), one["coefficient"].status]
        for one in chosen
    ]
    return Sheet("frictions", "Kind friction", columns, rows, "Coefficients of pairs of surfaces.")


_SHEETS: Mapping[str, Callable[[Sequence[Material]], Sheet]] = {
    "wood": _woods,
    "composite": _composites,
    "metal": _metals,
    "cloth": _cloths,
    "friction": _frictions,
}


def property_table(material: Material) -> Table:
    """Everything that is known of a material, each value with its source and what others say."""
    table = Table(
        title=Text(f"\n{material.name}: {material.description or material.kind}", style="italic"),
        title_justify="left",
        width=WIDTH,
        box=SIMPLE_HEAD,
        show_edge=False,
        pad_edge=False,
    )
    for heading, width in (("property", 22), ("value", 16), ("spread", 6), ("source", 27)):
        table.add_column(heading, width=width, justify="right" if heading == "spread" else "left")
    for source, rows in groupby(_rows(material), lambda row: row[3]):  # neighbours of one source share it
        stacked = ("\n".join(cells) for cells in list(zip(*rows, strict=True))[:3])
        table.add_row(*map(escape, stacked), escape(source))
    return table


def _rows(material: Material) -> Iterator[tuple[str, str, str, str]]:
    for name, one in material.properties.items():
        spread = NONE if one.spread is None else f"{100 * one.spread:g} %"
        others = f"; others: {one.others}" if one.others else ""
        yield name, shown_property(name, one), spread, f"{source_of(one)}{others}"
    for strength in material.wire:
        yield f"wire, {_range(strength)}", _law(strength), NONE, f"{strength.source} ({strength.status})"
    for way in _WAYS if material.kind == "wood" else ():
        expansion = across_expansion(material, way)
        if math.isfinite(expansion):
            how = f"{_ACROSS[way]}, Wood Handbook, FPL-GTR-282, 2021, ch. 4, with an oven-dry G of "
            how += f"{oven_dry_gravity(material):.2f} (from memory)"
            yield f"expansion, {way}", f"{expansion / PER_MILLION:.3g}e-6/K", NONE, how


def _range(strength: WireStrength) -> str:
    return f"{1e3 * strength.smallest:g} to {1e3 * strength.largest:g} mm"


def _law(strength: WireStrength) -> str:
    """S = A / d^m, d in mm."""
    return f"{strength.A:g} MPa/d^{strength.m:g}" if strength.m else f"{strength.A:g} MPa"


def remarks(library: Library, written: str, material: Material) -> Iterator[str]:
    """Its other names, what the seasons do to it, and what is missing, a line each.

    Parameters
    ----------
    library : Library
    written : str
        The name that was asked for.
    material : Material
    """
    others = library.namesakes(written)
    if others:
        yield f"'{written}' is taken for {material.name}; the word could also mean {' or '.join(others)}."
    called = library.also_called(material.name)
    if called:
        yield f"Also called: {', '.join(called)}."
    foreign = [word for word, names in library.local.items() if material.name in names]
    if foreign:
        yield f"Elsewhere, as hints only: {', '.join(foreign)}."
    if material.kind in SOLID:
        yield _seasons(material)
    if material.wire:
        yield "Strength of wire: S = A / d^m, d in mm."
        yield CAUTION
    if material.kind == "composite":
        yield FIBRES
    lacking = missing(material)
    if lacking:
        yield (
            f"Missing, for want of a source: {', '.join(lacking)}. Where you know it, bring a material of your own: "
            f'[materials.NAME] with kind = "{material.kind}", its values, and where they come from.'
        )


def missing(material: Material) -> list[str]:
    """Properties that a material of its kind may have and that parts or seasons ask for, and which it lacks."""
    required, optional = KINDS[material.kind]
    lacking = [name for name in (*required, *optional) if name not in material and name not in _NOT_ASKED]
    if material.kind == "metal" and not material.wire and "strength" not in material:
        lacking.append("wire_strength")
    return lacking


def _seasons(material: Material) -> str:
    grown = [f"1 m along {_millimetres(length_strain(material, WINTER, SUMMER))}"]
    if material.kind == "wood":
        grown += [f"100 mm {way} {_millimetres(0.1 * width_strain(material, way, WINTER, SUMMER))}" for way in _WAYS]
    heat = _millimetres(_WARMER * _value(material, "thermal_expansion"))
    seasons = f"From {_climate(WINTER)} to {_climate(SUMMER)}: {', '.join(grown)}"
    return f"{seasons}. By heat alone, {_WARMER:g} K: 1 m along {heat}."


def _climate(climate: Climate) -> str:
    return f"{climate[0] - ZERO_CELSIUS:g} °C, {100 * climate[1]:g} %"


def _millimetres(metres: float) -> str:
    """A growth that is not known is no figure."""
    if not math.isfinite(metres):
        return NONE
    shown = f"{1e3 * metres:+.3f}"
    return f"{shown if float(shown) else '0'} mm"


def csv_sheet(chosen: Sequence[Material]) -> Sheet:
    """Every value in SI units, a row each."""
    words = ("material", "kind", "property", "value", "unit", "spread", "status", "source", "others")
    rows: list[list[Cell]] = []
    for one in chosen:
        for name, found in one.properties.items():
            spread = math.nan if found.spread is None else found.spread
            told: list[Cell] = [one.name, one.kind, name, found.value, found.unit, spread]
            rows.append([*told, found.status, found.source, found.others])
        for wire in one.wire:
            law = f"{_law(wire)}, {_range(wire)}"
            rows.append([one.name, one.kind, "wire_strength", law, "", math.nan, wire.status, wire.source, ""])
    return Sheet("materials", "Materials", [Column(word, text=True) for word in words], rows)
