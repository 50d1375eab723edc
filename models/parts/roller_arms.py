"""The arms of a roller: let into the shaft, or the ends of a round shaft bent over."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from keyaction.models.fields.values import Values
from keyaction.models.formulas.bending import cantilever
from keyaction.models.formulas.sections import Section
from keyaction.models.parts import arms
from keyaction.models.parts.bending import set_gives

_SIDES = ("in_arm", "out_arm")
_LET_IN = arms.needs("arm_")
_OWN = _LET_IN[: -len(_SIDES)]
"""Fields that only arms of their own have."""


@dataclass(frozen=True)
class Arms:
    """What both arms weigh (kg), turn with (kg m2) and give, the fields that they come of, and how it is told."""

    needs: tuple[str, ...]
    how: str
    mass: Callable[[], float]
    inertia: Callable[[], float]
    set_bending: Callable[[], None]


def roller_arms(values: Values, shaft: Section | None) -> Arms:
    """The arms of a roller as its case has them; what contradicts itself goes into the defects.

    Parameters
    ----------
    values : Values
    shaft : Section, optional
        Its cross-section, where it is known.
    """
    if values.has("arms") and values.text("arms") == "bent":
        _check_bent(values, shaft)
        return _bent(values, shaft)
    return Arms(
        _LET_IN,
        "shaft and two arms",
        lambda: sum(arms.masses(values, "arm_")),
        lambda: arms.inertia(values, "arm_"),
        lambda: arms.set_bending(values, "arm_"),
    )


def _check_bent(values: Values, shaft: Section | None) -> None:
    if shaft is not None and shaft.shape != "round":
        values.defects.append(f'section: arms = "bent" needs a round shaft, not a {shaft.shape} one')
    own = [path for path in _OWN if values.has(path)]
    if own:
        values.defects.append(f'{own[0]}: arms = "bent" are the shaft\'s own wire; take out {", ".join(own)}')


def _bent(values: Values, shaft: Section | None) -> Arms:
    """A wire bends as a cantilever from the bend; its twist between the arms is the shaft's."""

    def masses() -> list[float]:
        area = shaft.area if shaft else 1.0
        return [values.of("material", "density") * area * values.number(side) for side in _SIDES]

    def inertia() -> float:
        across = values.number("diameter") ** 2 / 16 if values.has("diameter") else 0.0
        lengths = [values.number(side) for side in _SIDES]
        return sum(mass * (length**2 / 3 + across) for mass, length in zip(masses(), lengths, strict=True))

    def set_bending() -> None:
        if values.has(*_SIDES):
            bows = {end: cantilever(values.number(f"{end}_arm")) for end in ("in", "out")}
            set_gives(values, "material", ("section", "diameter", *_SIDES), shaft, bows)

    return Arms(_SIDES, "wire with both ends bent", lambda: sum(masses()), inertia, set_bending)
