"""What a search costs and reaches; run by hand: python tests/benchmarks/search.py [--whole].

Published problem, designs a second, evaluations until a front covers 95 % of that of all designs; with --whole the time
of a search of demo-wood from beginning to end on all cores.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

import numpy as np

from keyaction.sim.analysis.pareto import pareto_front
from keyaction.sim.search import driver
from keyaction.sim.search.hypervolume import hypervolume
from keyaction.sim.search.load import load_search
from keyaction.sim.search.looking import Engine
from keyaction.sim.search.optimiser import Axis, Everything, Evolution, axis_of
from keyaction.sim.search.scores import score
from keyaction.sim.search.search import run_search

SHARE = 0.95
SEEDS = range(1, 11)
VARY = (
    {"field": "pallet-spring.force", "scale": [0.7, 1.5], "levels": 9, "name": "spring"},
    {"field": "key.arm", "low": "130 mm", "high": "170 mm", "levels": 5},
    {"field": "pallet.opening_width", "scale": [0.85, 1.15], "levels": 4, "name": "pallet"},
)


def search_of(levels: bool, **asked: object):
    """A search of C4 of demo-wood in three inputs, with or without levels."""
    vary = [{key: value for key, value in one.items() if levels or key != "levels"} for one in VARY]
    study = {"case": "demo-wood", "notes": "C4"}
    return load_search(Path("options"), {"format": 1, "study": study, "search": asked, "vary": vary})


def zdt1() -> None:
    """E. Zitzler, K. Deb, L. Thiele, Evolutionary Computation 8 (2000) 173-195: T1 in 30 variables, 25 000 designs."""

    def look(_, rows):
        g = 1.0 + 9.0 * rows[:, 1:].mean(axis=1)
        return np.column_stack([rows[:, 0], g * (1.0 - np.sqrt(rows[:, 0] / g))]), np.zeros(len(rows))

    began, driver.STILL = time.process_time(), 10**6
    *_, last = driver.drive(Evolution([Axis(1001)] * 30, 2, 100, seed=1), look, 250)
    share = hypervolume(last.front, np.array([1.1, 1.1])) / (1.1**2 - 1.0 / 3.0)
    print(
        f"ZDT1, 100 designs, 250 generations: {share:.2%} of the published front, {time.process_time() - began:.1f} s"
    )


def reach() -> None:
    """Evaluations until the front covers a share of that of all designs."""
    search, recipe = search_of(True)
    axes = [axis_of(*pair) for pair in zip(recipe.inputs, recipe.own, strict=True)]
    whole = Everything(axes, 10**6)
    rows = whole.ask()
    began, spent = time.monotonic(), time.process_time()
    scores = score(search, Engine(search, recipe).look(rows))
    clock, spent = time.monotonic() - began, time.process_time() - spent
    rate, each = whole.count / clock, spent / whole.count * 1e3
    print(f"{whole.count} designs of C4: {rate:.1f} a second by the clock, {each:.0f} ms of processor time each")
    costs, holds = scores.costs(search.aims), scores.short == 0.0
    exact = costs[holds][pareto_front(costs[holds], ["min", "min"])]
    reference = costs[holds].max(axis=0)
    print(f"{int(holds.sum())} hold, {len(exact)} on the front")
    table = {row.tobytes(): i for i, row in enumerate(rows)}
    driver.STILL, needed = 10**6, []
    for seed in SEEDS:
        seen: set[int] = set()

        def look(_, asked, seen=seen):
            found = [table[row.tobytes()] for row in np.ascontiguousarray(asked)]
            seen.update(found)
            return costs[found], scores.short[found]

        for turn in driver.drive(Evolution(axes, 2, 16, seed), look, 40):
            if hypervolume(turn.front, reference) >= SHARE * hypervolume(exact, reference):
                needed.append(len(seen))
                break
        else:
            needed.append(-1)
    print(f"different designs until {SHARE:.0%} of that front, ten seeds: {sorted(needed)}")


def whole() -> None:
    """A search with all that is usual, from beginning to end."""
    search, _ = search_of(False)
    began, spent = time.monotonic(), time.process_time()
    found = run_search(search, None)
    count = len(found.result["design"])
    print(
        f"demo-wood, C4, three inputs: {count} designs, {len(found.offers.kept)} offered, "
        f"{time.monotonic() - began:.0f} s by the clock, {time.process_time() - spent:.0f} s of this process"
    )


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--whole", action="store_true")
    options = parser.parse_args()
    zdt1()
    reach()
    if options.whole:
        whole()
