"""The train of one note: its parts in order, their figures, and the structure its equations depend on."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from keyaction.models.algebra.names import SHARED, Name
from keyaction.models.fields.values import Derived, Values, Warned
from keyaction.models.materials.library import Library
from keyaction.models.parts import PARTS
from keyaction.models.parts.base import Part
from keyaction.models.parts.common import GRAVITY
from keyaction.models.train.fit import misfits
from keyaction.models.train.given import AnyPart, given_defects
from keyaction.models.train.structure import Member, Outlet, Structure, order_defects

if TYPE_CHECKING:
    from keyaction.models.train.equations import System

COMMON: tuple[Derived, ...] = (
    Derived("g", GRAVITY, "m/s^2", "acceleration of gravity", "conventional value (CGPM 1901)"),
    Derived(
        "N_floor",
        1e-3,
        "N",
        "load below which the resultant on a pin is rounded off",
        "numerical: far below any load",
    ),
    Derived(
        "phi_slip",
        1e-4,
        "rad",
        "turn within which a bushing gives before it slips",
        "assumed: 0.02 mm at a key 200 mm long; friction tends to Coulomb's as it shrinks",
    ),
    Derived(
        "t_slip",
        1e-3,
        "s",
        "damping of a bushing's give, as its force per rate of slip",
        "assumed: still within some ms",
    ),
)
"""Constants that every train has."""
_BODIES = ("key", "lever", "pallet")
"""Roles of the parts that rods join."""
_NO_OTHERS: Mapping[str, Library] = MappingProxyType({})


class TrainProblem(ValueError):
    """A train that cannot be built; `defects` lists every reason."""

    def __init__(self, defects: Sequence[str]) -> None:
        self.defects = tuple(defects)
        super().__init__("\n".join(self.defects))


class PartProblem(TrainProblem):
    """A part that raised an error of its own, or lacks a parameter of its equations; the message names the part."""

    def __init__(self, text: str) -> None:
        super().__init__([text])

    def __reduce__(self) -> tuple[type[PartProblem], tuple[str, ...]]:
        return PartProblem, self.defects


@contextmanager
def part_named(name: str) -> Iterator[None]:
    """Errors raised within name the part.

    Parameters
    ----------
    name : str

    Raises
    ------
    PartProblem
        In place of any ordinary exception.
    """
    try:
        yield
    except TrainProblem:
        raise
    except Exception as problem:
        raise PartProblem(f"{name}: {type(problem).__name__}: {problem}") from problem


@dataclass(frozen=True)
class TrainPart:
    """One part of a note's train with its figures."""

    part: type[Part]
    name: str
    values: Values

    @property
    def kind(self) -> str:
        return self.part.kind

    @property
    def role(self) -> str:
        return self.part.role

    def figure(self, what: str) -> float:
        """A figure that the part derived, SI."""
        return self.values.derived[what].value

    def with_figure(self, changed: Derived) -> TrainPart:
        """The part with another figure in place of its own of that name."""
        return replace(self, values=replace(self.values, derived={**self.values.derived, changed.name: changed}))


@dataclass(frozen=True)
class Train:
    """The train of one note.

    Attributes
    ----------
    parts : tuple of TrainPart
        From the finger to the wind.
    structure : tuple of Member
        What the equations depend on.
    parameters : mapping of Name to Derived
        Every parameter of the equations.
    warnings : tuple of Warned
    """

    parts: tuple[TrainPart, ...]
    structure: Structure
    parameters: Mapping[Name, Derived]
    warnings: tuple[Warned, ...]

    def __repr__(self) -> str:
        return f"<Train: {', '.join(part.name for part in self.parts)}>"

    def system(self, rider: bool = False) -> System:
        """The equations (shared by all notes of the same structure)."""
        from keyaction.models.train.equations import derived

        return derived(self.structure, rider)

    def vector(self, names: Sequence[Name]) -> list[float]:
        """Values of parameters, in this order.

        Raises
        ------
        PartProblem
            If one of them was never set.
        """
        for name in names:
            if name not in self.parameters:
                raise PartProblem(f"{name.part or 'the train'} has no parameter {name.what}")
        return [self.parameters[name].value for name in names]

    def with_parameter(self, name: Name, value: float, origin: str) -> Train:
        """The same train with another value of one parameter."""
        changed = replace(self.parameters[name], value=value, origin=origin)
        parts = tuple(part.with_figure(changed) if part.name == name.part else part for part in self.parts)
        return replace(self, parts=parts, parameters={**self.parameters, name: changed})

    def value(self, part: str, what: str) -> float:
        """A parameter of a part, SI; of what all parts share with an empty `part`."""
        return self.parameters[Name(part, what)].value

    @property
    def key(self) -> TrainPart:
        """The key that is played."""
        return self.parts[0]

    @property
    def dip(self) -> float:
        """Key dip to the felt's surface, m."""
        return self.parameters[Name(self.key.name, "dip")].value

    @property
    def box_pressure(self) -> float:
        """Pressure of the (first) pallet box, Pa."""
        return self.parameters[Name(self.role("box").name, "p_box")].value

    @property
    def wave_time(self) -> float:
        """Time in which a pull travels the rods, s."""
        return wave_time_of(self.parts)

    def part(self, name: str) -> TrainPart:
        """The part of that name."""
        return next(part for part in self.parts if part.name == name)

    def role(self, role: str) -> TrainPart:
        """The first part of that role (``key``, ``pallet``, ``box`` ...)."""
        return next(part for part in self.parts if part.role == role)


def wave_time_of(parts: Sequence[TrainPart]) -> float:
    """Sum of length over sound speed of the rods among parts, s; NaN without rods that have one."""
    times = [part.values.derived["wave_time"].value for part in parts if "wave_time" in part.values.derived]
    return sum(times) if times else math.nan


def build_train(
    parts: Sequence[AnyPart],
    library: Library,
    libraries: Mapping[str, Library] = _NO_OTHERS,
    remarks: bool = True,
) -> Train:
    """Resolve the figures of one note.

    Parameters
    ----------
    parts : sequence of (kind, name, values), (kind, name, values, outlet) or (kind, name, values, outlet, end)
        In train order; the kind by name or as its class, values by dotted field path, SI units; the outlet
        (part, name) from which a rod leads on, where that is not the last body before it. Couplers stand last, with
        the outlet (or inlet) where they take hold, and the end of the part that they move. The first key is played;
        every other begins a train of its own that a coupler moves.
    library : Library
    libraries : mapping of str to Library, optional
        That of a part, where it is not the common one.
    remarks : bool
        Whether to warn of what is merely odd.

    Raises
    ------
    TrainProblem
        With every missing or impossible field of every part; or, before these, every unknown kind, every name that
        a case would refuse too, and every outlet that is none.
    PartProblem
        When a part raises an error of its own.
    """
    wrong = given_defects(parts)
    if wrong:
        raise TrainProblem(wrong)
    made, ends = list[TrainPart](), list[tuple[Outlet | None, Outlet | None]]()
    for kind, name, given, *joined in parts:
        values = Values(name, given, libraries.get(name, library), remarks=remarks)
        made.append(TrainPart(PARTS[kind] if isinstance(kind, str) else kind, name, values))
        outlet, end = (*joined, None, None)[:2]
        ends.append((outlet, end))
    pairs = list(zip(made, ends, strict=True))
    defects = order_defects([Member(one.part, one.name, (), *end) for one, end in pairs])
    for i, one in enumerate(made):
        _resolve(one, driven=i > 0 and one.role == "key")
        defects += [f"{one.name}, field {text}" for text in dict.fromkeys(one.values.defects)]
    defects += misfits([(one.part, one.name, one.values) for one in made])
    if defects:
        raise TrainProblem(defects)
    for i, one in enumerate(made):
        with part_named(one.name):
            one.part.settle(one.values, _companions(made, i))
    for i, (one, (outlet, _)) in enumerate(pairs):
        if one.role == "rod":
            with part_named(one.name):
                _join(made, i, outlet)
    structure = tuple(_member(one, *end) for one, end in pairs)
    _check_outlets(structure)
    warnings = tuple(
        w._replace(text=f"{one.name}: {w.text}", part=one.name) for one in made for w in one.values.warnings
    )
    return Train(tuple(made), structure, _parameters(made), warnings)


def _check_outlets(structure: Structure) -> None:
    """Outlets are known once the parts are put together: done here for the few trains that name one."""
    if not any(member.after for member in structure):
        return
    from keyaction.models.train.equations import outlet_defects

    defects = outlet_defects(structure)
    if defects:
        raise TrainProblem(defects)


def _resolve(one: TrainPart, driven: bool) -> None:
    """Resolve a part; an error that follows from a missing field is told by that field."""
    try:
        with part_named(one.name):
            one.part.resolve(one.values)
            if driven:
                one.part.driven(one.values)
    except PartProblem:
        if not one.values.defects:
            raise


def _member(one: TrainPart, outlet: Outlet | None, end: Outlet | None) -> Member:
    with part_named(one.name):
        return Member(one.part, one.name, one.part.shape(one.values), outlet, end)


def _join(parts: Sequence[TrainPart], i: int, outlet: Outlet | None) -> None:
    """Let the rod at `i` and the bodies before and behind it know of each other."""
    rod, (before, behind), end = parts[i], _joined(parts, i, outlet), outlet[1] if outlet else "out"
    rod.part.join(rod.values, before.values, end, behind.values)
    before.part.hooked(before.values, end, rod.values)
    behind.part.hooked(behind.values, "in", rod.values)


def _joined(parts: Sequence[TrainPart], i: int, outlet: Outlet | None) -> tuple[TrainPart, TrainPart]:
    """The bodies before and behind the rod at `i`."""
    named = (part for part in parts[:i] if outlet and part.name == outlet[0])
    last = (part for part in reversed(parts[:i]) if part.role in _BODIES)
    return next(named, next(last)), next(part for part in parts[i:] if part.role in _BODIES)


def _companions(parts: Sequence[TrainPart], i: int) -> dict[str, Values]:
    """The part's neighbours by role: of each role the next one after it, else the first there is."""
    found: dict[str, Values] = {}
    for part in (*parts[i:], *parts[:i]):
        found.setdefault(part.role, part.values)
    return found


def _parameters(parts: Sequence[TrainPart]) -> dict[Name, Derived]:
    found = {Name(SHARED, item.name): item for item in COMMON}
    for part in parts:
        for item in part.values.derived.values():
            if item.role == "parameter":
                found[Name(part.name, item.name)] = item
    return found
