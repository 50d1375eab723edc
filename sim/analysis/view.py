"""A study's result as the analysis reads it: inputs, quantities, failed designs, and what the plan allows to say."""

from __future__ import annotations

import json
import math
import tomllib
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.text.near import hint
from keyaction.models.units.quantity import System, convert, format_value
from keyaction.sim.analysis.columns import Input
from keyaction.sim.analysis.effects import Effects, PlaneSums, one_at_a_time
from keyaction.sim.analysis.indices import MorrisScreening, SobolIndices, Steps
from keyaction.sim.analysis.look import Look, Looked
from keyaction.sim.analysis.pareto import Front, Sense
from keyaction.sim.analysis.pieces import OK, PIECE, Piece, Pieces
from keyaction.sim.analysis.spread import Spread
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.limits import MORE
from keyaction.sim.figures.repetition import STEP
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.on_disk import OnDisk

Floats = NDArray[np.float64]

INDICES = ("sobol", "morris")
"""Plans that tell more than the effects of a plane."""


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
    _found: dict[tuple[str, int], Looked] = field(default_factory=dict, repr=False, compare=False)
    _effects: dict[tuple[str, int], Effects] = field(default_factory=dict, repr=False, compare=False)

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
    def pieces(self) -> Pieces:
        """The designs, to be read piece by piece."""
        return Pieces(self.result, self.plan, self.second_order)

    @property
    def inputs(self) -> tuple[Input, ...]:
        """What was varied, in the plan's order; of a Sobol' plan that order is told by its rows."""
        return self.pieces.inputs

    @cached_property
    def quantities(self) -> tuple[str, ...]:
        """Names of the quantities, in the order of their registry."""
        found = self.result.variables.items()
        names = [name for name, v in found if v.dims == ("design", "note") and v.data.dtype.kind == "f"]
        known = [*QUANTITIES, *names]
        return tuple(sorted(names, key=known.index))

    @property
    def rows(self) -> Any:
        """Row of the plan of each design."""
        return self.result["design"]

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
        """One value of a quantity that a design has, or of an input, for people."""
        if name not in self.quantities:
            return self.input(name).written(value, units)
        more = MORE if name == "repetition_rate" and abs(value - self.highest_rate) < STEP / 10 else ""
        return self.written_plain(name, value, units, digits) + more

    def written_plain(self, name: str, value: float, units: System, digits: int = 3) -> str:
        """A difference of a quantity, or what a fit makes of it, for people."""
        return format_value(float(value), self.result.variables[name].unit or "1", units, digits)

    @cached_property
    def highest_rate(self) -> float:
        """The highest repetition rate tried, Hz; NaN where the result does not say it, or where it varies."""
        if "repetition_highest" in str(tomllib.loads(self.result.about.get("study", "")).get("vary", "")):
            return math.nan
        told = json.loads(self.result.about.get("strokes", "{}")).get("repetition_highest", math.nan)
        return float(told) if math.isnan(told) else int(told / STEP + 1e-9) * STEP

    def played(self, note: int) -> int:
        """How many designs came out ok at a note."""
        return self.pieces.statuses[note][OK]

    def reasons(self, note: int) -> Counter[str]:
        """How many designs failed at a note for which reason."""
        found = Counter[str]()
        for text, count in self.pieces.statuses[note].items():
            if text != OK:
                found[text.removeprefix("failed: ")] += count
        return found

    def limits(self, note: int) -> tuple[Counter[str], int]:
        """What limits the repetition rate of how many designs at a note; how many pass again at a faster rate."""
        found, again = Counter[str](), 0
        for text, count in self.pieces.limits[note].items() if self.pieces.limits else ():
            limit, _, more = text.partition("; ")
            found[limit] += count if limit else 0
            again += count if more.startswith("passes again") else 0
        return +found, again

    def values(self, quantity: str, note: int) -> Floats:
        """A quantity of each design at a note, SI; NaN where the design failed or has none."""
        return self.pieces.values(self.known(quantity), note, slice(0, len(self.rows)))

    def figures(self, name: str, note: int) -> Floats:
        """A quantity, or an input that is a number, of each design.

        Raises
        ------
        NotInStudy
        """
        if name in self.quantities:
            return self.values(name, note)
        return np.asarray(self._number(name).values, dtype=np.float64)

    def number(self, name: str) -> str:
        """The name of a quantity, or of an input that is a number, if the study holds it.

        Raises
        ------
        NotInStudy
        """
        return name if name in self.quantities else self._number(name).name

    def _number(self, name: str) -> Input:
        numbers = [one for one in self.pieces.unordered if one.name == name and not one.text]
        if not numbers:
            names = [*self.quantities, *(one.name for one in self.pieces.unordered if not one.text)]
            raise NotInStudy(f"'{name}' is no quantity and no numeric input of this study{hint(name, names)}")
        return numbers[0]

    # -- what the designs tell ----------------------------------------------------------------------------------
    def look(self, quantities: Sequence[str], note: int, effects: bool = False) -> None:
        """Read quantities, all in one go, so that what is asked about them next is at hand.

        Parameters
        ----------
        quantities : sequence of str
        note : int
        effects : bool
            Whether `effects` will be asked for where the plan tells more than them.
        """
        asked = list(dict.fromkeys(self.known(name) for name in quantities))
        fresh = [name for name in asked if (name, note) not in self._found]
        planes = self._fitted and (effects or self.plan not in INDICES)
        unfitted = [name for name in asked if (name, note) not in self._effects] if planes else []
        if not fresh and not unfitted:
            return
        looks = {name: Look(self.pieces, self.inputs, name, note) for name in fresh}
        plane = PlaneSums([one.names for one in self.inputs], len(unfitted))
        for piece in self.pieces:
            fine = self.pieces.fine(note, piece.rows)
            values = {
                name: self.pieces.values(name, note, piece.rows, fine) for name in dict.fromkeys([*fresh, *unfitted])
            }
            if unfitted:
                columns = [one.piece(piece.rows.start, piece.rows.stop) for one in self.inputs]
                plane.add(columns, [values[name] for name in unfitted])
            steps = self._steps(piece) if fresh and self.plan == "morris" and self.inputs else None
            for name in fresh:
                looks[name].add(values[name], piece, steps)
        for name in fresh:
            self._found[name, note] = looks[name].done()
        for k, name in enumerate(unfitted):
            self._effects[name, note] = plane.effects(k)

    @property
    def _fitted(self) -> bool:
        """Whether effects are those of a fitted plane."""
        return not (self.plan == "one-at-a-time" and len(self.rows) and int(self.rows[0]) == 0)

    def _steps(self, piece: Piece) -> Steps:
        return Steps(piece.placed(self.pieces.places(self.inputs, piece.rows)))

    def _looked(self, quantity: str, note: int) -> Looked:
        self.look([quantity], note)
        return self._found[quantity, note]

    def spread(self, quantity: str, note: int) -> Spread:
        """Least, middle and largest value."""
        return self._looked(quantity, note).spread

    def indices(self, quantity: str, note: int) -> SobolIndices | None:
        """Sobol' indices; None for another plan."""
        return self._looked(quantity, note).indices

    def screening(self, quantity: str, note: int) -> MorrisScreening | None:
        """Morris screening; None for another plan."""
        return self._looked(quantity, note).screening

    def effects(self, quantity: str, note: int) -> Effects:
        """What each input alone does: one at a time if the plan is that, else by a fitted plane."""
        if not self._fitted:
            return one_at_a_time([np.asarray(one.values) for one in self.inputs], self.values(quantity, note))
        self.look([quantity], note, effects=True)
        return self._effects[quantity, note]

    def weights(self, quantity: str, note: int) -> Floats:
        """How much each input matters, by what the plan tells: total index, or mu* or swing over the largest.

        (k,); NaN where the quantity does not vary.
        """
        if not self.spread(quantity, note).varies:
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

    def front(self, senses: Mapping[str, Sense], note: int) -> Front:
        """The designs that none beats in quantities, or inputs that are numbers.

        Raises
        ------
        NotInStudy
        """
        front = Front(list(senses.values()))
        numbers = {name: self._number(name) for name in senses if name not in self.quantities}
        for first in range(0, len(self.rows), PIECE):
            rows = slice(first, min(first + PIECE, len(self.rows)))
            columns = [
                self.pieces.values(name, note, rows)
                if name in self.quantities
                else numbers[name].piece(first, rows.stop)
                for name in senses
            ]
            front.add(first, np.column_stack(columns))
        return front

    def some(self, most: int, keep: Sequence[int] = ()) -> StudyView:
        """A view of at most so many designs, drawn at random, and those to `keep`; in memory."""
        count = len(self.rows)
        if count <= most and not any(isinstance(one.data, OnDisk) for one in self.result.variables.values()):
            return self
        drawn = np.arange(count) if count <= most else np.random.default_rng(0).choice(count, most, replace=False)
        rows = np.union1d(drawn, np.asarray(keep, dtype=np.int64))
        cut = {
            name: replace(one, data=np.asarray(one.data[rows] if one.dims[:1] == ("design",) else one.data))
            for name, one in self.result.variables.items()
        }
        return StudyView(Result(cut, self.result.about))
