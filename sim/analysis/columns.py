"""The inputs of a study as columns of its result."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyaction.models.materials.reading import PROPERTY_FIELDS
from keyaction.models.units.quantity import System, convert, format_value
from keyaction.sim.analysis.effects import is_text
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.on_disk import OnDisk
from keyaction.sim.files.problem import FileProblem

Floats = NDArray[np.float64]

INPUT = "input_"
"""Beginning of the name of an input's column."""
AS_IN_CASE = "as in the case"
"""What stands for the case's own where that is no single value."""


class NotThePlan(FileProblem):
    """Rows that are not those of the plan that the result names."""


@dataclass(frozen=True)
class Input:
    """One thing that was varied.

    Attributes
    ----------
    name : str
        As in the study.
    values : (designs,) array
        SI floats, NaN where the case's own is no single value; or texts. It may lie on the disk (`OnDisk`).
    unit : str
        SI; "1" for plain numbers, factors and texts.
    kind : str or None
        Kind of quantity, where the unit alone leaves it open.
    factor, offset : bool
        The values multiply what the case gives, or are added to it.
    """

    name: str
    values: Any
    unit: str = "1"
    kind: str | None = None
    factor: bool = False
    offset: bool = False

    @property
    def text(self) -> bool:
        """Whether the values are texts (materials)."""
        return is_text(self.values)

    @cached_property
    def names(self) -> NDArray[Any] | None:
        """All texts that there may be, rising; None where the values are numbers."""
        return np.unique(self._texts.astype(str)) if self.text else None

    @property
    def _texts(self) -> NDArray[Any]:
        """Texts among which are all that there are."""
        return np.asarray(self.values if getattr(self.values, "names", None) is None else self.values.names)

    def piece(self, first: int, last: int) -> NDArray[Any]:
        """Values of some designs as numbers; of texts, which of `names` they are."""
        rows = slice(first, last)
        if self.names is None:
            return np.asarray(self.values[rows], dtype=np.float64)
        if isinstance(self.values, OnDisk):
            return np.asarray(self._numbers[self.values.numbers(rows)])
        return np.searchsorted(self.names, np.asarray(self.values[rows]).astype(str))

    @cached_property
    def _numbers(self) -> NDArray[np.int64]:
        """Which of `names` the texts of a file are."""
        return np.searchsorted(np.asarray(self.names), self._texts.astype(str))

    def shown(self, values: Any, units: System) -> tuple[Floats, str]:
        """Numbers in the reader's unit, and that unit's name."""
        found, word = convert(np.asarray(values, dtype=np.float64), self.unit, units, self.kind)
        if self.offset:
            return found, f"{word} more than the case's"
        return found, "times the case's" if self.factor else word

    def written(self, value: Any, units: System) -> str:
        """One value for people."""
        if value is None:
            return "n/a"
        if self.text:
            return str(value)
        if not np.isfinite(value):
            return AS_IN_CASE
        sign = "× " if self.factor else "+" if self.offset and value >= 0.0 else ""
        return f"{sign}{format_value(float(value), self.unit, units, kind=self.kind)}"


def read_inputs(result: Result) -> list[Input]:
    """The inputs of a result, in the study's order as far as the result tells it."""
    told = {one["name"]: one for one in json.loads(result.about.get("inputs", "[]"))}
    there = sorted(name.removeprefix(INPUT) for name in result.variables if name.startswith(INPUT))
    order = [name for name in told if name in there] + [name for name in there if name not in told]
    return [_read(result, name, told.get(name, {})) for name in order]


def _read(result: Result, name: str, told: dict[str, Any]) -> Input:
    variable = result.variables[f"{INPUT}{name}"]
    return Input(
        name, variable.data, variable.unit or "1", _kind(told), bool(told.get("factor")), bool(told.get("offset"))
    )


def _kind(told: dict[str, Any]) -> str | None:
    """Kind of a material's property; a field's follows from its unit."""
    place, _, inner = next(iter(told.get("fields", ())), "").partition(".")
    known = PROPERTY_FIELDS.get(inner.rpartition(".")[2])
    return known.kind if place == "materials" and known and told.get("unit") == known.unit else None


class Moves:
    """Which input each row AB^1 ... AB^k of a Sobol' plan takes from B, told from the designs themselves.

    Parameters
    ----------
    inputs : int
    """

    def __init__(self, inputs: int) -> None:
        self._moved = np.zeros((inputs, inputs), dtype=bool)

    def add(self, points: Sequence[Floats]) -> None:
        """Take the next base points: for each input its values, (points, rows), NaN in rows that are not there."""
        for j, values in enumerate(points):
            steps = values[:, 1 : len(points) + 1]
            differs = (steps != values[:, :1]) & np.isfinite(steps) & np.isfinite(values[:, :1])
            self._moved[:, j] |= np.any(differs, axis=0)

    def order(self) -> list[int]:
        """Numbers of the inputs in the plan's order.

        Raises
        ------
        NotThePlan
            If a row differs from its A in several inputs, or two rows in the same.
        """
        order: list[int] = []
        for step, row in enumerate(self._moved, 1):
            moved = np.flatnonzero(row).tolist()
            if len(moved) > 1 or set(moved) & set(order):
                raise NotThePlan(f"rows {step} of the base points do not take one input each from B: no Sobol' plan")
            order.append(moved[0] if moved else -1)
        left = iter(j for j in range(len(self._moved)) if j not in order)
        return [next(left) if j < 0 else j for j in order]
