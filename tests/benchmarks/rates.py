"""Repetition rates in lanes of the processor: trials that end as soon as enough is known, or with a stroke that fails.

    python tests/benchmarks/rates.py [--designs 256] [--rounds 3]

Run by hand. Designs of the studies `quick` and `paper`, and of C4 and A2 of the wooden demonstration manual, every
figure of their equations scattered evenly by a share. Steps are those of all lanes of all blocks, idle ones too; the
whole is `evaluate` with all quantities, its doubts marked. Both ways are played in turn; processor time, the shortest
of the rounds.

2026-11-28, 256 designs each, two cores, with a stroke that fails and early; every figure and word the same:

| designs | all | times | rates and presses alone | million steps of lanes |
|---|---|---|---|---|
| `paper` | 4.95, 3.87 s | 1.28 | 4.25, 3.03 s | 84, 52 |
| `quick` | 4.55, 3.56 s | 1.28 | 3.80, 2.88 s | 75, 46 |
| C4, 50 % | 6.46, 5.50 s | 1.17 | 5.01, 4.13 s | 104, 83 |
| A2, 10 % | 4.21, 3.27 s | 1.29 | 3.60, 2.69 s | 68, 41 |

All trials played to their end, as they were before a failing stroke was the last, made 106, 94, 138 and 85 million.

Before trials ended early, and after, this program not used, two processes each in turn: 512 designs of `paper` 13.1 and
13.9 s, 9.2 and 9.6 s; `quick` 15.2 and 16.5, 11.8 and 11.3; 672 trains of `materials` 21.1 and 20.8, 14.5 and 14.5;
512 of C4 by 50 % 14.4 and 14.5, 13.4 and 11.6.

How the half hertz of 256 designs of `paper` share their steps (all to the end: 1), and of C4 by 50 % in the last rows:

| what | share |
|---|---|
| trials end with the first stroke that fails: alone | 0.81 |
| side by side in blocks as they are asked; sorted at their best | 0.86; 0.82 |
| and where two strokes were alike and none close: alone | 0.42; 0.44 |
| side by side as asked; sorted by the first failing rate | 0.57, 0.51; 0.91, 0.75 |
| and whoever is decided gives its place to the next trial (**kept**), idle lanes counted | 0.43; 0.44 |

What failing strokes alone save is a tenth of `evaluate`. Tenths one after the other would save 0.4 % of the
steps of all trials: those after the first that fails mostly end in their first stroke. 27 648 designs of nine sets (C4
by 10, 30, 50 %, A2 by 50, G6 by 10, C2 of carbon by 30, three kinds of action by 20 and 30), rates alone: no rate, no
limit and no `again` is another than with all trials played to their end, in 0.42 to 0.57 of the time.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path
from unittest.mock import patch

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))

from scattered import scattered

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.cases.study.reader import read_study
from keyaction.sim.code.lane_kernel import trials_of
from keyaction.sim.code.watch import WIDTH
from keyaction.sim.figures.rates import searched
from keyaction.sim.lanes import threads
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.lanes.evaluate import available, evaluate
from keyaction.sim.sweep.designs import make_design, recipe_of
from keyaction.sim.sweep.manifest import plan_of


def of_study(name, count):
    """Trains of designs all over a study."""
    study = read_study(name, available())
    recipe, plan = recipe_of(study), plan_of(study)
    rows = plan.rows(0, plan.count)[:: max(plan.count // count, 1)][:count]
    designs = [make_design(recipe, row) for row in rows]
    return [one for design in designs for one in design.trains if not isinstance(one, str)], designs[0].strokes


def of_note(note, count, share):
    """Trains about one of the wooden manual."""
    case = read_case("demo-wood")
    base = train_of(case, note)
    names, found = [p.name for p in base.system().params], []
    for row in scattered(base, count, 1, share):
        train = base
        for name, value in zip(names, row, strict=True):
            train = train.with_parameter(name, float(value), "scattered")
        found.append(train)
    return found, case.strokes


class Ways:
    """Ends trials early or with a stroke that fails, and counts the steps that lanes make."""

    def __init__(self):
        self.whole, self.steps = False, 0
        self.repetition = Batch.repetition

    def counted(self, real):
        def played(*given):
            made = trials_of(real)(*given)
            self.steps += made * WIDTH[real]
            return made

        return played

    def rates(self, batch, strokes, rest):
        if self.whole:
            return searched(len(batch), strokes.repetition_highest, batch.judge(strokes, rest))
        return self.repetition(batch, strokes, rest)


def main():
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--designs", type=int, default=256)
    options.add_argument("--rounds", type=int, default=3)
    given = options.parse_args()
    sets = {"paper": of_study("paper", given.designs), "quick": of_study("quick", given.designs)}
    sets |= {
        f"{note} by {share:.0%}": of_note(note, given.designs, share) for note, share in (("C4", 0.5), ("A2", 0.1))
    }
    ways = Ways()
    with (
        patch.object(Batch, "repetition", lambda *given: ways.rates(*given)),
        patch.object(threads, "trials_of", ways.counted),
    ):
        for name, (trains, strokes) in sets.items():
            print(f"{name}, {len(trains)} designs: {told(ways, trains, strokes, given.rounds)}", flush=True)


def told(ways, trains, strokes, rounds):
    """Both ways: the whole, its rates, the steps of their trials."""
    evaluate(trains[:1], strokes, sample=0)
    found, spent = {}, {way: [np.inf, np.inf, 0] for way in (True, False)}
    rates = ("repetition_rate",)
    for _ in range(rounds):
        for way in (True, False):
            ways.whole, ways.steps = way, 0
            found[way], whole = timed(lambda: evaluate(trains, strokes, sample=0, doubt="mark"))
            steps, one = ways.steps, spent[way]
            _, alone = timed(lambda: evaluate(trains, strokes, rates, sample=0, doubt="mark"))
            spent[way] = [min(one[0], whole), min(one[1], alone), steps]
    same = all(np.array_equal(found[True].quantities[k], v, equal_nan=True) for k, v in found[False].quantities.items())
    same &= all(getattr(found[True], k) == getattr(found[False], k) for k in ("limits", "status", "sensitive"))
    (whole, alone, steps), (early, fewer, less) = spent[True], spent[False]
    ratio, share = whole / early, less / steps
    return (
        f"all {whole:.2f} s, {early:.2f} s: {ratio:.2f} times; rates and presses alone {alone:.2f} s, {fewer:.2f} s; "
        f"steps {steps / 1e6:.0f}, {less / 1e6:.0f} million: {share:.0%}; {'the same' if same else 'NOT THE SAME'}"
    )


def timed(work):
    """What comes of it, and the processor time that it took."""
    began = time.process_time()
    return work(), time.process_time() - began


if __name__ == "__main__":
    main()
