"""Parameters of many designs at once: designs a second of the processor, beside one train after the other.

Run by hand: python tests/benchmarks/rows.py
Random designs of the studies `quick` and `paper`, and the whole grid of `materials` over 56 notes.
"""

from __future__ import annotations

import time

import numpy as np

from keyaction.cases.study.reader import read_study
from keyaction.sim.lanes.evaluate import available
from keyaction.sim.sweep.designs import make_design, recipe_of
from keyaction.sim.sweep.manifest import plan_of
from keyaction.sim.sweep.rows import design_rows

ROUNDS, ALONE = 5, 100


def seconds(work):
    """The quickest of some rounds, processor time."""
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def together(recipe, rows):
    for group in design_rows(recipe, rows).groups:
        assert len(group.parameters)


def main():
    for name in ("quick", "paper"):
        recipe = recipe_of(read_study(name, available()))
        rows = np.random.default_rng(0).random((65_536, len(recipe.inputs)))
        for count in (512, 4096, len(rows)):
            took = seconds(lambda recipe=recipe, rows=rows[:count]: together(recipe, rows))
            print(f"{name:9s} {count:6d} designs together {count / took:9.0f} a second")
        took = seconds(lambda recipe=recipe, rows=rows[:ALONE]: [make_design(recipe, row) for row in rows])
        print(f"{name:9s} one by one {ALONE / took:23.0f} a second")
    study = read_study("materials", available())
    recipe, plan = recipe_of(study), plan_of(study)
    rows = plan.rows(0, plan.count)
    took = seconds(lambda: together(recipe, rows))
    trains = len(rows) * len(study.notes)
    print(f"materials {len(rows)} designs at {len(study.notes)} notes {trains / took:9.0f} trains a second")


if __name__ == "__main__":
    main()
