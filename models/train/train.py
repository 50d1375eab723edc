"""The train of one note: its parts in order, their figures, and the structure its equations depend on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from keyaction.models.fields.values import Derived, Given, Values
from keyaction.models.materials.library import Library
from keyaction.models.parts import PARTS
from keyaction.models.parts.common import GRAVITY
from keyaction.models.train.equations import Structure, System, derived

SHARED: tuple[Derived, ...] = (
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

_UNSCOPED = ("p_box", "rho_air", "p_atm", "p_smooth")
_TAIL = ("pallet", "spring", "groove", "box")


class TrainProblem(ValueError):
    """A train that cannot be built; `defects` lists every reason."""

    def __init__(self, defects: Sequence[str]) -> None:
        self.defects = tuple(defects)
        super().__init__("\n".join(self.defects))


@dataclass(frozen=True)
class TrainPart:
    """One part of a note's train with its figures."""

    kind: str
    name: str
    values: Values

    @property
    def role(self) -> str:
        return PARTS[self.kind].role


@dataclass(frozen=True)
class Train:
    """The train of one note."""

    parts: tuple[TrainPart, ...]
    structure: Structure
    parameters: Mapping[str, Derived]
    warnings: tuple[str, ...]

    def system(self, rider: bool = False) -> System:
        """The equations (shared by all notes of the same structure)."""
        return derived(self.structure, rider)

    def vector(self, system: System) -> list[float]:
        """Parameter values in the order of the system's parameters."""
        return [self.parameters[p.symbol.name].value for p in system.params]

    def part(self, name: str) -> TrainPart:
        """The part of that name."""
        return next(part for part in self.parts if part.name == name)

    def role(self, role: str) -> TrainPart:
        """The first part of that role (``key``, ``pallet``, ``box`` ...)."""
        return next(part for part in self.parts if part.role == role)


def order_defects(kinds: Sequence[tuple[str, str]]) -> list[str]:
    """What is wrong with the order of parts, given as (kind, name)."""
    roles = [PARTS[kind].role for kind, _ in kinds]
    defects = []
    if not roles or roles[0] != "key":
        defects.append("the train begins with a key")
    counted = ((role, roles.count(role)) for role in ("key", *_TAIL))
    defects += [f"the train has one {role}; this one has {count}" for role, count in counted if count != 1]
    if defects:
        return defects
    if tuple(roles[-4:]) != _TAIL:
        defects.append("the train ends with pallet, spring, groove, box, in that order")
        return defects
    for (_, before), (_, after), first, second in zip(kinds, kinds[1:], roles, roles[1:], strict=False):
        if second in ("lever", "pallet") and first != "rod":
            defects.append(f"{after}: a tracker, sticker or pull-down must lead to it from {before}")
        if second == "rod" and first == "rod":
            defects.append(f"{after}: two rods meet without a lever between {before} and {after}")
    return defects


def build_train(parts: Sequence[tuple[str, str, Mapping[str, Given]]], library: Library) -> Train:
    """Resolve the figures of one note.

    Parameters
    ----------
    parts : sequence of (kind, name, values)
        In train order; values by dotted field path, SI units.
    library : Library

    Raises
    ------
    TrainProblem
        With every missing or impossible field of every part.
    """
    defects = order_defects([(kind, name) for kind, name, _ in parts])
    made = [TrainPart(kind, name, Values(name, given, library)) for kind, name, given in parts]
    for part in made:
        PARTS[part.kind].resolve(part.values)
        defects += [f"{part.name}, field {text}" for text in dict.fromkeys(part.values.defects)]
    if defects:
        raise TrainProblem(defects)
    by_role = {part.role: part.values for part in made}
    for part in made:
        PARTS[part.kind].settle(part.values, by_role)
    structure = tuple((part.kind, part.name, PARTS[part.kind].shape(part.values)) for part in made)
    warnings = tuple(f"{part.name}: {text}" for part in made for text in part.values.warnings)
    return Train(tuple(made), structure, _parameters(made), warnings)


def _parameters(parts: Sequence[TrainPart]) -> dict[str, Derived]:
    found = {item.name: item for item in SHARED}
    for part in parts:
        slug = part.name.replace("-", "_")
        for item in part.values.derived.values():
            if item.role == "parameter":
                found[item.name if item.name in _UNSCOPED else f"{item.name}_{slug}"] = item
    return found
