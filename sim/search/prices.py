"""What the rods of a design cost."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from keyaction.cases.study.search import Search
from keyaction.cases.text.defects import CaseProblem, Defect
from keyaction.models.train.train import Train
from keyaction.sim.compare.prices import Price, price_of, read_prices
from keyaction.sim.compare.rod_choice import guided
from keyaction.sim.sweep.designs import Design, Recipe, make_design

NO_RODS = "the case has no rods that have a price: no tracker and no sticker"


def prices_of(search: Search) -> tuple[Price, ...]:
    """The prices of a search.

    Raises
    ------
    CaseProblem
        With every slip in them.
    """
    wrong: list[str] = []
    found = read_prices(search.case, search.prices, wrong) if search.prices else []
    if wrong:
        told = [Defect(search.path.name, "[search]", "prices", "", text.removeprefix("--price ")) for text in wrong]
        raise CaseProblem(search.path, told)
    return tuple(found)


def price_of_design(rods: Sequence[str], prices: Sequence[Price], design: Design) -> float:
    """Price of the rods of all its notes; NaN where one cannot be built or has no price."""
    return float(sum(_of_train(rods, prices, train) for train in design.trains))


def _of_train(rods: Sequence[str], prices: Sequence[Price], train: Train | str) -> float:
    if isinstance(train, str):
        return float("nan")
    return sum(price_of(prices, part.values) for part in train.parts if part.name in rods)


def rods_of(search: Search) -> tuple[str, ...]:
    """Names of the rods that are paid for."""
    return tuple(part.name for part in guided(search.case))


def unpriced(search: Search, recipe: Recipe, prices: Sequence[Price]) -> list[str]:
    """A line for each material of rods that may occur and has no price."""
    rods = rods_of(search)
    found: dict[str, str] = {}
    for row in _corners(search):
        for train in make_design(recipe, row).trains:
            if isinstance(train, str):
                continue
            for part in train.parts:
                if part.name in rods and np.isnan(price_of(prices, part.values)):
                    what = part.values.text("material") if part.values.has("material") else "no material"
                    found.setdefault(f"{part.name} {what}", f"{part.name}: no price of {what}")
    return list(found.values())


def _corners(search: Search) -> list[np.ndarray]:
    """The case itself, and every choice by itself."""
    count = len(search.inputs)
    rows = [np.full(count, np.nan)]
    for k, one in enumerate(search.inputs):
        for i in range(len(one.labels)):
            row = np.full(count, np.nan)
            row[k] = (i + 0.5) / len(one.labels)
            rows.append(row)
    return rows
