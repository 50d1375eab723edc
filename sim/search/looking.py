"""Looking at designs: what the lanes tell of a generation, each design once."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.study.search import COST, Search
from keyaction.sim.compare.prices import Price
from keyaction.sim.search.optimiser import Floats
from keyaction.sim.search.prices import price_of_design, rods_of
from keyaction.sim.search.scores import Looked
from keyaction.sim.sweep.designs import Recipe, make_design
from keyaction.sim.sweep.playing import play_designs


@dataclass(frozen=True)
class Engine:
    """Plays the designs of a search: `recipe` makes them, `prices` are those of their rods; `jobs` threads."""

    search: Search
    recipe: Recipe
    prices: tuple[Price, ...] = ()
    jobs: int = 0

    def look(self, rows: Floats) -> Looked:
        """Figures of designs by their positions (n, inputs)."""
        priced = any(one.name == COST for one in self.search.figures())
        rods, nothing = rods_of(self.search), np.full(len(rows), np.nan)
        with np.errstate(all="ignore"):
            designs = [make_design(self.recipe, row) for row in rows]
            played = play_designs(designs, self.recipe.quantities, 0, self.jobs, self.recipe.device)
        shape = played.values.shape[:2]
        words = [
            np.array(played.words[name], dtype=object).reshape(shape) for name in ("status", "verdict", "sensitive")
        ]
        costs = np.array([price_of_design(rods, self.prices, one) for one in designs]) if priced else nothing
        inputs = np.array([one.values for one in designs]).reshape(len(rows), -1)
        return Looked(played.values, inputs, costs, *words)


@dataclass
class Seen:
    """All designs that were looked at, each once, in the order in which they came."""

    rows: list[Floats] = field(default_factory=list)
    parts: list[Looked] = field(default_factory=list)
    ends: list[int] = field(default_factory=list)
    """How many there were after each generation."""
    numbers: dict[bytes, int] = field(default_factory=dict)

    def fresh(self, rows: Floats) -> Floats:
        """Those that are new, each once."""
        new = {row.tobytes(): row for row in np.ascontiguousarray(rows) if row.tobytes() not in self.numbers}
        return np.array(list(new.values())).reshape(len(new), rows.shape[1])

    def add(self, rows: Floats, looked: Looked | None) -> None:
        """Take what came of a generation's new designs; None where there were none."""
        for row in np.ascontiguousarray(rows):
            self.numbers[row.tobytes()] = len(self.numbers)
        self.rows.append(rows)
        if looked is not None:
            self.parts.append(looked)
        self.ends.append(len(self.numbers))

    def which(self, rows: Floats) -> list[int]:
        """Numbers of designs."""
        return [self.numbers[row.tobytes()] for row in np.ascontiguousarray(rows)]

    @property
    def looked(self) -> Looked:
        """All of them."""
        return Looked.joined(self.parts)

    @property
    def generation(self) -> NDArray[np.int64]:
        """The generation from 1 in which each was first looked at."""
        return np.asarray(np.searchsorted(self.ends, np.arange(len(self.numbers)), side="right") + 1)
