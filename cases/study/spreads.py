"""What is uncertain about a case, and by how much: common to its notes, and note by note."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from keyaction.cases.action.case import Case, PartSpec
from keyaction.cases.action.own_materials import property_field, with_properties
from keyaction.cases.fields.tables import field_at
from keyaction.cases.study.inputs import MATERIALS, Input, Target
from keyaction.cases.study.spans import Deviation
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Given
from keyaction.models.many import maths
from keyaction.models.materials.library import Library
from keyaction.models.spreads.table import MEASURES, Size, Spread, spread_of, spread_of_material
from keyaction.models.train.given import AnyPart, with_values
from keyaction.models.train.train import Train, TrainProblem, build_train

LEAST_LEFT = 0.1
"""Share that is left, at least, of a size from which something is taken away and which must be above nothing."""
_NUDGE = 1e-3


class Piece(NamedTuple):
    """What each note has its own deviation of: a field of a part, or a property of the material at one of its fields.

    `path` is the field's, or "FIELD.PROPERTY".
    """

    part: str
    path: str
    field: Field
    deviation: Deviation
    material: str = ""
    """Field at which the material stands; empty for a field itself."""


@dataclass(frozen=True)
class Uncertain:
    """One figure of a case that is uncertain.

    Attributes
    ----------
    name : str
        "pallet.sealing_margin", or "western-redcedar.E".
    target : Target
        What moves where it deviates at all notes alike.
    common : Deviation
        Its ends keep the field's allowed range at every note.
    pieces : tuple of Piece
        What deviates note by note; of a material every part that is made of it.
    spread : Spread
    """

    name: str
    target: Target
    common: Deviation
    pieces: tuple[Piece, ...]
    spread: Spread

    @property
    def input(self) -> Input:
        """Its common part as an input of a study."""
        one = self.common
        return Input(self.name, one, (self.target,), one.factor, source=self.spread.told, offset=not one.factor)


def uncertain(
    case: Case, notes: Sequence[int], own: Mapping[str, Spread] | None = None, taken: frozenset[str] = frozenset()
) -> tuple[Uncertain, ...]:
    """Every figure of a case that has a spread and that the trains of some notes come of.

    Parameters
    ----------
    case : Case
    notes : sequence of int
    own : mapping of str to Spread, optional
        Spreads in place of the table's and of the case's, by the path of the field.
    taken : frozenset of str
        Paths of fields that are varied otherwise.

    Returns
    -------
    tuple of Uncertain
        Fields part by part, then materials.
    """
    own = {**case.spreads, **(own or {})}
    trains = _Trains(case, tuple(notes))
    found = [*_of_fields(case, trains, own), *_of_materials(case, trains, own)]
    return tuple(one for one in found if one.target.path not in taken and trains.hang_on(one))


def pieces_of(doubts: Sequence[Uncertain]) -> tuple[Piece, ...]:
    """Everything that deviates note by note."""
    return tuple(piece for one in doubts for piece in one.pieces)


def without_spread(case: Case) -> tuple[str, ...]:
    """Paths of fields that are measures and used, and of which nothing says how uncertain they are."""
    trains = _Trains(case, case.compass)
    return tuple(
        f"{part.name}.{path}"
        for part, path, field in _fields(case, trains)
        if f"{part.name}.{path}" not in case.spreads and spread_of(part.part, path, field) is None
    )


def allowed_deviations(field: Field, own: float, factor: bool) -> tuple[float, float]:
    """Least and most deviation with which a value stays in the field's allowed range."""
    low, high = field.least, field.high
    if factor:
        if own == 0.0:
            return -math.inf, math.inf
        ends = sorted((low / own, high / own))
        return ends[0], ends[1]
    if field.positive:
        low = maths.larger(low, LEAST_LEFT * own)
    return low - own, high - own


class _Trains:
    """The trains of some notes as the case has them; None where one cannot be built."""

    def __init__(self, case: Case, notes: tuple[int, ...]) -> None:
        self.case, self.notes = case, notes
        self.parts: dict[int, tuple[AnyPart, ...]] = {note: case.given(note) for note in notes}
        self.built = {note: _built(parts, case.library) for note, parts in self.parts.items()}

        trains = [train for train in self.built.values() if train is not None]
        self._used = {p.name: set[str]().union(*(one.part(p.name).values.used for one in trains)) for p in case.parts}

    def used(self, part: str) -> set[str]:
        """Fields and properties of materials that some note's figures come of."""
        return self._used[part]

    def given(self, part: PartSpec, path: str) -> list[Given]:
        """A field's values at the notes that have it."""
        return [part.fields[path][note] for note in self.notes if note in part.fields[path]]

    def hang_on(self, one: Uncertain) -> bool:
        """Whether a parameter of the equations changes with it at any note."""
        target, library = one.target, self.case.library
        if target.place == MATERIALS:
            library = scaled(library, {target.property: 1.0 + _NUDGE})
        for note, train in self.built.items():
            parts: Sequence[AnyPart] = self.parts[note]
            if target.place != MATERIALS:
                changes = self._nudged(note, one)
                parts = [with_values(p, {**p[2], **changes}) if p[1] == target.place else p for p in parts]
            if train is not None and _differ(train, _built(parts, library)):
                return True
        return False

    def _nudged(self, note: int, one: Uncertain) -> dict[str, Given]:
        course = self.case.part(one.target.place).fields[one.target.inner]
        if note not in course:
            return {}
        own = float(course[note].value)
        size = next(each.size for each in (one.common, *(p.deviation for p in one.pieces)) if each.size)
        return {one.target.inner: Given(own * (1.0 + _NUDGE) if one.common.factor else own + _NUDGE * size, "nudged")}


def _fields(case: Case, trains: _Trains) -> Iterator[tuple[PartSpec, str, Field]]:
    for part in case.parts:
        used = trains.used(part.name)
        for path in part.fields:
            field = field_at(part.part.fields, path)
            if path in used and field is not None and field.kind in MEASURES:
                yield part, path, field


def _of_fields(case: Case, trains: _Trains, own: Mapping[str, Spread]) -> Iterator[Uncertain]:
    for part, path, field in _fields(case, trains):
        target = Target(part.name, path, field)
        spread = own.get(target.path) or spread_of(part.part, path, field)
        values = [float(one.value) for one in trains.given(part, path)]
        if spread is None or not values:
            continue
        for factor in (True, False):
            common, note = (_deviation(size, spread, factor) for size in (spread.common, spread.note))
            if common.size or note.size:
                ends = [allowed_deviations(field, value, factor) for value in values]
                common = common.within(max(low for low, _ in ends), min(high for _, high in ends))
                pieces = (Piece(part.name, path, field, note),) if note.size else ()
                yield Uncertain(_named(target.path, spread, factor), target, common, pieces, spread)


def _named(name: str, spread: Spread, factor: bool) -> str:
    """A figure whose one part is a share and whose other is none has two rows."""
    mixed = spread.common.value and spread.note.value and spread.common.share != spread.note.share
    return f"{name} by share" if mixed and factor else name


def _deviation(size: Size, spread: Spread, factor: bool) -> Deviation:
    return Deviation(size.value if size.share == factor else 0.0, factor, spread.form == "even")


def _of_materials(case: Case, trains: _Trains, own: Mapping[str, Spread]) -> Iterator[Uncertain]:
    for name, places in _made_of(case, trains).items():
        material = case.library.get(name)
        for what, one in material.properties.items():
            target = Target(MATERIALS, f"{name}.{what}", property_field(name, what))
            spread = own.get(target.path) or spread_of_material(material.kind, one)
            used = any(f"{path}.{what}" in trains.used(part) for part, path in places)
            if one.value <= 0 or not (spread.common.value or spread.note.value) or (places and not used):
                continue
            common, note = (
                _deviation(_as_share(size, one.value), spread, True) for size in (spread.common, spread.note)
            )
            ends = allowed_deviations(target.field, one.value, True)
            pieces = tuple(
                Piece(part, f"{path}.{what}", target.field, note, path)
                for part, path in places
                if note.size and f"{path}.{what}" in trains.used(part)
            )
            yield Uncertain(f"{name}.{what}", target, common.within(*ends), pieces, spread)


def _as_share(size: Size, value: float) -> Size:
    return size if size.share else replace(size, value=size.value / value, share=True)


def _made_of(case: Case, trains: _Trains) -> dict[str, list[tuple[str, str]]]:
    """Of each material the parts and fields that use it; guides may be lined with what no field names."""
    guided = any(path.startswith("guides.") for part in case.parts for path in part.fields)
    found: dict[str, list[tuple[str, str]]] = {name: [] for name in case.library.names("friction") if guided}
    for part in case.parts:
        for path in part.fields:
            field = field_at(part.part.fields, path)
            if field is not None and field.kind == "material":
                for name in dict.fromkeys(str(one.value) for one in trains.given(part, path)):
                    found.setdefault(name, []).append((part.name, path))
    return found


def _built(parts: Sequence[AnyPart], library: Library) -> Train | None:
    try:
        return build_train(parts, library)
    except TrainProblem:
        return None


def _differ(before: Train, after: Train | None) -> bool:
    return after is None or any(after.parameters[name].value != one.value for name, one in before.parameters.items())


def scaled(library: Library, factors: Mapping[tuple[str, str], float]) -> Library:
    """The library with properties multiplied: (material, property) to factor."""
    return with_properties(library, {key: library.get(key[0])[key[1]].value * by for key, by in factors.items()})
