"""What a case relies on without having been told: values that the program chose, and materials that stand for words.

Only what is used is told. Which fields a part uses is declared nowhere: the part is built, and what it read counts.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from keyaction.cases.action.case import Case, PartSpec
from keyaction.cases.action.remarks import assumptions
from keyaction.cases.action.strokes import STROKE_FIELDS, TABLE
from keyaction.cases.fields.tables import field_at
from keyaction.cases.text.assumed import Assumption
from keyaction.models.fields.values import Derived, Given
from keyaction.models.materials.library import Library
from keyaction.models.materials.types import Material
from keyaction.models.parts.finger import PAD_DAMPING
from keyaction.models.train.train import COMMON, Train, TrainProblem, build_train
from keyaction.models.units.quantity import System, format_value

ASSUMED = ("assumed", "numerical")
"""How the origin of a figure begins that the program takes and no field can change."""
_FINGER = Derived("damping", PAD_DAMPING, "s/m", "rise of the finger's force per speed of its squeeze", "assumed: soft")


@dataclass(frozen=True)
class Chosen:
    """A material that a case uses.

    Attributes
    ----------
    material : Material
    parts : tuple of str
        Who uses it.
    uses : frozenset of str
        Properties that figures come of, as far as parts asked for them one by one.
    written : tuple of str
        Other names by which the case calls it.
    namesakes : tuple of str
        Other materials that one of these words could mean.
    """

    material: Material
    parts: tuple[str, ...]
    uses: frozenset[str]
    written: tuple[str, ...]
    namesakes: tuple[str, ...]


@dataclass(frozen=True)
class _Alike:
    """Notes whose parts are given the same fields and words, and so use the same ones: the first of them, and its train
    (None where it cannot be built).
    """

    notes: tuple[int, ...]
    train: Train | None

    def uses(self, part: str, path: str) -> bool:
        """Whether a part's figures come of a field; where nothing could be built, every field counts."""
        return self.train is None or path in self.train.part(part).values.used

    def properties(self, part: str, path: str) -> set[str]:
        """Properties of the material at a field that a part asked for."""
        asked = self.train.part(part).values.used if self.train else ()
        return {one.removeprefix(f"{path}.") for one in asked if one.startswith(f"{path}.")}


def _alike(case: Case) -> list[_Alike]:
    found: dict[object, list[int]] = {}
    for note in case.compass:
        given = ((part.name, case.values(note, part)) for part in case.parts)
        kind = tuple((name, path, one.default, _word(one)) for name, values in given for path, one in values.items())
        found.setdefault(kind, []).append(note)
    return [_Alike(tuple(notes), _built(case, notes[0])) for notes in found.values()]


def _word(one: Given) -> object:
    """What may steer a part: words, flags and counts; of a measure only that it is there."""
    return None if isinstance(one.value, float) else one.value


def _built(case: Case, note: int) -> Train | None:
    try:
        return build_train(case.given(note), case.library)
    except TrainProblem:
        return None


def assumptions_of(case: Case, system: System = "trade") -> tuple[Assumption, ...]:
    """Every value that the program chose and that a figure of the case comes of.

    Parameters
    ----------
    case : Case
    system : {"trade", "si"}
        Units of the fields' values.

    Returns
    -------
    tuple of Assumption
        Defaults of fields, part by part; what a part takes that is no field; what all trains share; layout; strokes.
    """
    alike = _alike(case)
    found: list[Assumption] = []
    for part in case.parts:
        used = {
            path: {note: course[note] for note in _using(alike, part, path) if note in course}
            for path, course in part.fields.items()
        }
        found += assumptions(f"[[train]] {part.name}", part.name, part.part.fields, used, system)
        found += _fixed(alike, part.name)
    if any(part.part.rubs for part in case.parts):
        found += [_constant("every pin", item) for item in COMMON if item.origin.startswith(ASSUMED)]
    for read in case.drawn.tables if case.drawn else ():
        found += assumptions(read.table, read.table, read.fields, read.courses, system)
    found.append(_constant("finger", _FINGER))
    strokes = {path: {0: given} for path, given in case.strokes.given.items()}
    return (*found, *assumptions(TABLE, TABLE, STROKE_FIELDS, strokes, system))


def _using(alike: list[_Alike], part: PartSpec, path: str) -> Iterator[int]:
    for group in alike:
        if group.uses(part.name, path):
            yield from group.notes


def _fixed(alike: list[_Alike], part: str) -> list[Assumption]:
    """Figures of a part that are no field's default."""
    trains = [group.train for group in alike if group.train is not None]
    items = (item for train in trains for item in train.part(part).values.derived.values())
    return list(dict.fromkeys(_constant(part, item) for item in items if item.origin.startswith(ASSUMED)))


def _constant(owner: str, item: Derived) -> Assumption:
    value = format_value(item.value, item.unit, "si") if item.unit else f"{item.value:.4g}"
    return Assumption("", owner, item.name, f"{value}, {item.doc}", item.origin)


def materials_of(case: Case) -> tuple[Chosen, ...]:
    """The materials that figures of the case come of, in the order in which the train meets them.

    Parameters
    ----------
    case : Case

    Returns
    -------
    tuple of Chosen
    """
    alike = _alike(case)
    found: dict[str, list[_Use]] = {}
    for use in _uses(case, alike):
        found.setdefault(str(use.given.value), []).append(use)
    return tuple(_chosen(case.library, name, uses) for name, uses in found.items())


class _Use(NamedTuple):
    """A material at a field of a part, at one note."""

    part: str
    given: Given
    properties: set[str]


def _uses(case: Case, alike: list[_Alike]) -> Iterator[_Use]:
    for part in case.parts:
        for path, course in part.fields.items():
            field = field_at(part.part.fields, path)
            if field is None or field.kind != "material":
                continue
            for group in (group for group in alike if group.uses(part.name, path)):
                asked = group.properties(part.name, path)
                yield from (_Use(part.name, course[note], asked) for note in group.notes if note in course)


def _chosen(library: Library, name: str, uses: list[_Use]) -> Chosen:
    parts = tuple(dict.fromkeys(use.part for use in uses))
    written = tuple(dict.fromkeys(use.given.written for use in uses if use.given.written))
    others = tuple(dict.fromkeys(other for word in written for other in library.namesakes(word)))
    return Chosen(library.get(name), parts, frozenset().union(*(use.properties for use in uses)), written, others)
