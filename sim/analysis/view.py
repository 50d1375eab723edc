"""A study's result as the analysis reads it: inputs, quantities, failed designs, and what the plan allows to say."""

from __future__ import annotations

import tomllib
from collections import Counter
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.text.near import hint
from keyaction.models.units.quantity import System, convert, format_value
from keyaction.sim.analysis.columns import Input, moved_in_turn, read_inputs
from keyaction.sim.analysis.effects import Effects, one_at_a_time, plane_effects
from keyaction.sim.analysis.indices import (
    MorrisScreening,
    SobolIndices,
    morris_screening,
    sobol_indices,
    sobol_rows,
    varies,
)
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.files.labelled import Result

Floats = NDArray[np.float64]

PLACE = "unit_"
"""Beginning of the name of an input's places in the unit cube."""
OK = "ok"


class NotInStudy(ValueError):
    """A quantity, input or note that the study does not hold; the message names the nearest."""


@dataclass(frozen=True)
class StudyView:
    """A study's result.

    Attributes
    ----------
    result : Result
        As `sweep_open.study_result` gives it: ``input_NAME`` (design); quantities, ``status`` (design, note).
    """

    result: Result

    @cached_property
    def study(self) -> dict[str, Any]:
        """The study file's own table."""
        found = tomllib.loads(self.result.about.get("study", "")).get("study", {})
        return dict(found)

    @property
    def plan(self) -> str:
        """Name of the plan."""
        return str(self.result.about.get("plan") or self.study.get("plan", ""))

    @property
    def second_order(self) -> bool:
        """Whether a Sobol' plan has the rows for interactions."""
        return str(self.result.about.get("second_order", self.study.get("second_order", ""))).lower() == "true"

    @cached_property
    def inputs(self) -> tuple[Input, ...]:
        """What was varied, in the plan's order; of a Sobol' plan that order is told by its rows."""
        found = read_inputs(self.result)
        if self.plan != "sobol" or not found:
            return tuple(found)
        block = sobol_rows(len(found), self.second_order)
        return tuple(found[i] for i in moved_in_turn([one.values for one in found], self.rows, block))

    @cached_property
    def quantities(self) -> tuple[str, ...]:
        """Names of the quantities, in the order of their registry."""
        found = self.result.variables.items()
        names = [name for name, v in found if v.dims == ("design", "note") and v.data.dtype.kind == "f"]
        known = [*QUANTITIES, *names]
        return tuple(sorted(names, key=known.index))

    @property
    def rows(self) -> NDArray[np.int64]:
        """Row of the plan of each design."""
        return np.asarray(self.result["design"], dtype=np.int64)

    @property
    def waiting(self) -> int:
        """Designs of the plan that are not computed yet."""
        return int(self.result.about.get("designs", len(self.rows))) - len(self.rows)

    def input(self, name: str) -> Input:
        """The input of that name.

        Raises
        ------
        NotInStudy
        """
        for one in self.inputs:
            if one.name == name:
                return one
        raise NotInStudy(f"input '{name}' is not in this study{hint(name, [one.name for one in self.inputs])}")

    def known(self, quantity: str) -> str:
        """The quantity's name, if the study holds it.

        Raises
        ------
        NotInStudy
        """
        if quantity not in self.quantities:
            raise NotInStudy(f"quantity '{quantity}' is not in this study{hint(quantity, self.quantities)}")
        return quantity

    def label(self, name: str) -> str:
        """A quantity in words; an input's name."""
        return self.result.variables[name].label or name if name in self.quantities else name

    def shown(self, name: str, values: Any, units: System) -> tuple[Floats, str]:
        """Values of a quantity, or of a numeric input, in the reader's unit, and that unit's name."""
        if name not in self.quantities:
            return self.input(name).shown(values, units)
        return convert(np.asarray(values, dtype=np.float64), self.result.variables[name].unit or "1", units)

    def written(self, name: str, value: float, units: System, digits: int = 3) -> str:
        """One value of a quantity, or of an input, for people."""
        if name not in self.quantities:
            return self.input(name).written(value, units)
        return format_value(float(value), self.result.variables[name].unit or "1", units, digits)

    def statuses(self, note: int) -> NDArray[Any]:
        """Status of each design at a note: "ok" or a reason."""
        return np.array([str(text) for text in self.result["status"][:, note]], dtype=object)

    def values(self, quantity: str, note: int) -> Floats:
        """A quantity of each design at a note, SI; NaN where the design failed or has none."""
        found = np.array(self.result[self.known(quantity)][:, note], dtype=np.float64)
        found[self.statuses(note) != OK] = np.nan
        found[~np.isfinite(found)] = np.nan
        return found

    def figures(self, name: str, note: int) -> Floats:
        """A quantity, or an input that is a number, of each design.

        Raises
        ------
        NotInStudy
        """
        if name in self.quantities:
            return self.values(name, note)
        numbers = [one for one in self.inputs if one.name == name and not one.text]
        if not numbers:
            names = [*self.quantities, *(one.name for one in self.inputs if not one.text)]
            raise NotInStudy(f"'{name}' is no quantity and no numeric input of this study{hint(name, names)}")
        return np.asarray(numbers[0].values, dtype=np.float64)

    def reasons(self, note: int) -> Counter[str]:
        """How many designs failed at a note for which reason."""
        return Counter(text.removeprefix("failed: ") for text in self.statuses(note) if text != OK)

    def _by_plan(self, values: Floats, block: int) -> Floats:
        """Values at their rows of the plan, NaN in rows that are not there, filled up to whole blocks."""
        count = -(-(int(self.rows.max(initial=-1)) + 1) // block) * block
        placed = np.full((count, *values.shape[1:]), np.nan)
        placed[self.rows] = values
        return placed

    def indices(self, quantity: str, note: int) -> SobolIndices | None:
        """Sobol' indices; None for another plan."""
        if self.plan != "sobol" or not self.inputs:
            return None
        k = len(self.inputs)
        values = self._by_plan(self.values(quantity, note), sobol_rows(k, self.second_order))
        return sobol_indices(values, k, self.second_order)

    def places(self) -> Floats:
        """Designs in the unit cube, (designs, inputs): as stored, or between each input's lowest and highest value."""
        return np.column_stack([self._place(one) for one in self.inputs])

    def _place(self, one: Input) -> Floats:
        if f"{PLACE}{one.name}" in self.result:
            return np.asarray(self.result[f"{PLACE}{one.name}"], dtype=np.float64)
        if one.text:
            _, values = np.unique(one.values.astype(str), return_inverse=True)
        else:
            values = one.values
        numbers = np.asarray(values, dtype=np.float64)
        reach = float(np.ptp(numbers))
        return (numbers - numbers.min()) / reach if reach > 0 else np.zeros(len(numbers))

    def screening(self, quantity: str, note: int) -> MorrisScreening | None:
        """Morris screening; None for another plan."""
        if self.plan != "morris" or not self.inputs:
            return None
        block = len(self.inputs) + 1
        points, values = self._by_plan(self.places(), block), self._by_plan(self.values(quantity, note), block)
        whole = np.repeat(np.all(np.isfinite(points).reshape(-1, block * (block - 1)), axis=1), block)
        return morris_screening(values[whole], points[whole])

    def effects(self, quantity: str, note: int) -> Effects:
        """What each input alone does: one at a time if the plan is that, else by a fitted plane."""
        values, columns = self.values(quantity, note), [one.values for one in self.inputs]
        if self.plan == "one-at-a-time" and len(values) and self.rows[0] == 0:
            return one_at_a_time(columns, values)
        return plane_effects(columns, values)

    def weights(self, quantity: str, note: int) -> Floats:
        """How much each input matters, by what the plan tells: total index, or mu* or swing over the largest.

        (k,); NaN where the quantity does not vary.
        """
        values = self.values(quantity, note)
        if not varies(values[np.isfinite(values)]):
            return np.full(len(self.inputs), np.nan)
        indices, screening = self.indices(quantity, note), self.screening(quantity, note)
        if indices is not None:
            return indices.total.value
        if screening is not None:
            found = screening.mu_star.value
        else:
            found = np.array([effect.swing for effect in self.effects(quantity, note).effects])
        largest = float(np.max(found[np.isfinite(found)], initial=0.0))
        return np.asarray(found / largest) if largest > 0 else np.full(len(found), np.nan)
