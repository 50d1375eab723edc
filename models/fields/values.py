"""The values of one part for one note, and what the part derives from them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from keyaction.models.many import maths
from keyaction.models.materials.library import Library, UnknownMaterial
from keyaction.models.materials.types import Material, MissingProperty
from keyaction.models.units.quantity import format_value

Scalar = float | int | str | bool

MEASURED_APART = 3.0
"""A figure measured this many times more or less than its sizes give is remarked on (common practice)."""


def in_unit(value: float, unit: str) -> str:
    """A figure (SI) in the reader's unit."""
    return maths.written(value, lambda one: format_value(one, unit))


@dataclass(frozen=True)
class Given:
    """A value as the case gives it: SI units, where it came from ("case", "CSV ..."), whether it is a default.

    `written` is the word that the case has for a material, where that is not its proper name.
    """

    value: Scalar
    origin: str
    default: bool = False
    written: str = ""


class Warned(NamedTuple):
    """A warning of a part: in full for its note, and without its figures, so that notes can share it.

    One about a field has that, its SI value and unit apart, and the part once that is known.
    """

    text: str
    brief: str
    field: str = ""
    value: float = math.nan
    unit: str = ""
    part: str = ""


@dataclass(frozen=True)
class Derived:
    """A figure that a part computed (or was told) for one note.

    `role` is ``parameter`` when the equations use it and ``fact`` when it is only shown.
    """

    name: str
    value: float
    unit: str
    doc: str
    origin: str
    role: str = "parameter"


@dataclass
class Values:
    """Reads a part's fields for one note and collects what is derived, warned of, or missing.

    Parameters
    ----------
    part : str
        The part's name in the case.
    given : mapping
        Dotted field path ("pin.diameter", "leads.0.mass") to `Given`.
    library : Library
        Materials known to the case.
    """

    part: str
    given: Mapping[str, Given]
    library: Library
    derived: dict[str, Derived] = field(default_factory=dict)
    defects: list[str] = field(default_factory=list)
    warnings: list[Warned] = field(default_factory=list)
    remarks: bool = True
    """Whether anybody reads what is merely odd; a sweep does not."""
    used: set[str] = field(default_factory=set)
    """Fields whose values were asked for, and properties of materials ("material.E"): what the figures come of."""

    def has(self, *paths: str) -> bool:
        """Whether every one of the fields has a value."""
        return all(path in self.given for path in paths)

    def number(self, path: str) -> float:
        """The value in SI units; a missing one is recorded as a defect and read as 1 so that reading goes on."""
        if path not in self.given:
            self.defects.append(f"{path}: missing")
            return 1.0
        self.used.add(path)
        return maths.number(self.given[path].value)

    def text(self, path: str) -> str:
        """The value of a choice or text field; a missing one is recorded as a defect."""
        if path not in self.given:
            self.defects.append(f"{path}: missing")
            return ""
        self.used.add(path)
        return str(self.given[path].value)

    def material(self, path: str) -> Material:
        """The material named by the field; its name has been checked by the reader."""
        return self.library.get(self.text(path))

    def of(self, path: str, name: str) -> float:
        """Property `name` of the material at `path`; a material without it is recorded as a defect.

        A piece that is known to differ from its material has a value of its own, given as "material.E" beside the
        fields.
        """
        self.used.add(f"{path}.{name}")
        if f"{path}.{name}" in self.given:
            return maths.number(self.given[f"{path}.{name}"].value)
        try:
            return self.material(path)[name].value
        except (MissingProperty, UnknownMaterial) as problem:
            self.defects.append(f"{path}: {problem}")
            return 1.0

    def source(self, path: str, name: str) -> str:
        """Where that property comes from."""
        try:
            found = self.material(path)[name]
        except (MissingProperty, UnknownMaterial):
            return "missing"
        return f"{self.material(path).name}: {found.source}"

    def count_rows(self, path: str) -> int:
        """How many rows a list of tables has."""
        heads = {key[len(path) + 1 :].split(".")[0] for key in self.given if key.startswith(path + ".")}
        return len(heads)

    def origin(self, path: str) -> str:
        """Where a given value came from."""
        return self.given[path].origin

    def refuse(self, path: str, unit: str, told: str) -> None:
        """Record a value that cannot be, with why and what is allowed."""
        self.defects.append(f"{path} = {in_unit(self.number(path), unit)}: {told}")

    def odd(self, path: str, unit: str, told: str, value: float | None = None) -> None:
        """Warn of a value that can hardly be meant; `told` is without figures of the note, `value` if not its own."""
        found = self.number(path) if value is None else value
        self.warnings.append(Warned(f"{path} = {format_value(found, unit)}: {told}", told, path, found, unit))

    def set(self, name: str, value: float, unit: str, doc: str, origin: str = "computed") -> float:
        """Record a parameter of the equations."""
        self.derived[name] = Derived(name, value := maths.number(value), unit, doc, origin)
        return value

    def fact(self, name: str, value: float, unit: str, doc: str, origin: str = "computed") -> float:
        """Record a figure that is only shown."""
        self.derived[name] = Derived(name, value := maths.number(value), unit, doc, origin, role="fact")
        return value

    def either(
        self,
        name: str,
        unit: str,
        doc: str,
        path: str,
        needs: tuple[str, ...],
        formula: Callable[[], float],
        how: str,
    ) -> float:
        """A parameter given directly as `path`, or computed by `formula` from the fields `needs`.

        Neither being there is a defect that names both ways.
        """
        if self.has(path):
            self.compare(path, unit, needs, formula)
            return self.set(name, self.number(path), unit, doc, f"given ({self.origin(path)})")
        if self.has(*needs):
            return self.set(name, formula(), unit, doc, how)
        missing = ", ".join(need for need in needs if not self.has(need))
        self.defects.append(f"{path}: give it, or else {missing}")
        return self.set(name, 1.0, unit, doc, "missing")

    def compare(self, path: str, unit: str, needs: tuple[str, ...], formula: Callable[[], float]) -> None:
        """Remark on a measured figure far off what the sizes give; moments, which may cancel, are left alone."""
        if not self.has(*needs) or unit == "N*m":
            return
        known, used = len(self.defects), set(self.used)
        sized = formula()
        self.used.intersection_update(used)  # no figure comes of what is only compared with
        sound = len(self.defects) == known
        del self.defects[known:]
        if not self.remarks:
            return
        measured = self.number(path)
        if sound and measured > 0 < sized and not 1 / MEASURED_APART <= measured / sized <= MEASURED_APART:
            much = "more" if measured > sized else "less"
            self.odd(path, unit, f"measured {MEASURED_APART:g} times {much} than the sizes give, or yet further off")
