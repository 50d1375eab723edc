"""Regulating: seconds for 56 notes, and how actions that were drawn uneven stand with the proposed work on them.

Run by hand: python tests/benchmarks/onsite_regulate.py [TRIALS]
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))

from unregulated import uneven

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import sound_trains
from keyaction.models.readings.readings import Head
from keyaction.sim.regulating.judged import KEPT
from keyaction.sim.regulating.regulate import regulate

CASES = ("demo-wood", "cases/kinds/hung-rollers.toml", "cases/kinds/sticker-backfall.toml")
WAYS = [KEPT.index(figure) for figure in ("level", "dip", "play")]


def main():
    trials = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    speed()
    print(f"{'action':18} ruler  touched/notes  out before  foretold  in truth  beyond 2 sd")
    for name in CASES:
        for ruler in (0.05e-3, 0.2e-3):
            print(outcome(name, ruler, trials), flush=True)


def speed():
    case = read_case("demo-wood")
    drawn = sound_trains(case, case.compass)
    found = uneven(drawn, case.strokes, 1, hung=False)
    for figures, told in ((None, "wind on and off"), (("level", "dip", "play", "pluck", "hold", "up"), "wind on")):
        readings = found.read(1) if figures is None else found.read(1, figures=figures)
        regulate(case, drawn, readings)
        times = []
        for _ in range(3):
            start = time.perf_counter()
            regulate(case, drawn, readings)
            times.append(time.perf_counter() - start)
        load = os.getloadavg()[0]
        print(f"56 notes, {told}: {min(times):.2f} s, at worst {max(times):.2f} s (load {load:.1f})")


def outcome(name, ruler, trials):
    """One line: notes out of tolerance in level, dip or play before, as foretold, and with the work done in truth."""
    case = read_case(name)
    drawn = sound_trains(case, case.compass[:: 4 if len(case.compass) > 20 else 1])
    counts = np.zeros(6, dtype=int)
    for seed in range(trials):
        found = uneven(drawn, case.strokes, seed, hung="hung" in name)
        done = regulate(case, drawn, found.read(seed + 1000, Head(ruler=ruler)))
        worked = done.table.work
        truth = found.worked_on(done)
        outside = [
            (done.kept.off(figures)[:, WAYS] > 0.0).any(axis=1)
            for figures in (done.before, done.after.values, truth.values)
        ]
        far = (done.kept.off(truth.values)[:, WAYS] > 2.0 * done.state.figure_sd[:, [0, 1, 2]]).any(axis=1)
        touched = len({move.note for move in done.steps.moves if move.kind != "spring"})
        counts += [
            touched,
            int(worked.sum()),
            *(int((out & worked).sum()) for out in outside),
            int((far & worked).sum()),
        ]
    short = Path(name).stem
    return (
        f"{short:18} {ruler * 1e3:4.2f}   {counts[0]:5d}/{counts[1]:<5d}   {counts[2]:8d} {counts[3]:9d} {counts[4]:9d}"
        f" {counts[5]:9d}"
    )


if __name__ == "__main__":
    main()
