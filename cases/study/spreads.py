"""The spreads that a case carries itself: of its materials, and of what it assumes about friction and felts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from keyaction.cases.action.case import Case, PartSpec
from keyaction.cases.action.own_materials import property_field, with_properties
from keyaction.cases.fields.tables import field_at
from keyaction.cases.study.inputs import MATERIALS, Input, Target
from keyaction.cases.study.spans import Spread
from keyaction.models.materials.library import Library
from keyaction.models.train.train import Train, TrainProblem, build_train

ASSUMED = ("breakaway", "damping", "loss", "end_stiffness")
"""Fields of friction, loss and cloth that cases leave to the program, where no publication has a figure."""
ASSUMED_SPREAD = 0.5
"""Relative standard deviation of those; assumed."""
_NUDGE = 1.001


def spread_inputs(case: Case, notes: tuple[int, ...], taken: frozenset[str]) -> tuple[Input, ...]:
    """An independent factor for every property and assumption that has a spread and matters to the trains.

    Parameters
    ----------
    case : Case
    notes : tuple of int
        The notes of the study.
    taken : frozenset of str
        Paths of fields that the study varies itself.

    Returns
    -------
    tuple of Input
    """
    found = [*_materials(case, notes), *_assumptions(case, notes)]
    return tuple(one for one in found if one.targets[0].path not in taken)


def _materials(case: Case, notes: tuple[int, ...]) -> Iterator[Input]:
    plain = [_train(case, note, case.library) for note in notes]
    for name in dict.fromkeys(_used(case, notes)):
        for what, one in case.library.get(name).properties.items():
            if not one.spread or one.value <= 0:
                continue
            nudged = scaled(case.library, {(name, what): _NUDGE})
            moved = (_train(case, note, nudged) for note in notes)
            if any(before is not None and _differ(before, after) for before, after in zip(plain, moved, strict=True)):
                target = Target(MATERIALS, f"{name}.{what}", property_field(name, what))
                yield Input(f"{name}.{what}", Spread(one.spread), (target,), True, source=one.source)


def _used(case: Case, notes: tuple[int, ...]) -> Iterator[str]:
    for part in case.parts:
        for path, course in part.fields.items():
            field = field_at(part.part.fields, path)
            if field is not None and field.kind == "material":
                yield from (str(course[note].value) for note in notes if note in course)


def _assumptions(case: Case, notes: tuple[int, ...]) -> Iterator[Input]:
    for part in case.parts:
        for path in part.fields:
            if path.rpartition(".")[2] in ASSUMED and _assumed(part, path, notes):
                field = field_at(part.part.fields, path)
                assert field is not None
                target = Target(part.name, path, field)
                yield Input(target.path, Spread(ASSUMED_SPREAD), (target,), True, source="assumed")


def _assumed(part: PartSpec, path: str, notes: tuple[int, ...]) -> bool:
    given = [part.fields[path].get(note) for note in notes]
    return all(one is not None and one.default and float(one.value) > 0 for one in given)


def _train(case: Case, note: int, library: Library) -> Train | None:
    parts = [(part.part, part.name, case.values(note, part)) for part in case.parts]
    try:
        return build_train(parts, library)
    except TrainProblem:
        return None


def _differ(before: Train, after: Train | None) -> bool:
    if after is None:
        return True
    one, other = (np.array([item.value for item in train.parameters.values()]) for train in (before, after))
    return one.shape != other.shape or not np.array_equal(one, other)


def scaled(library: Library, factors: Mapping[tuple[str, str], float]) -> Library:
    """The library with properties multiplied: (material, property) to factor."""
    return with_properties(library, {key: library.get(key[0])[key[1]].value * by for key, by in factors.items()})
