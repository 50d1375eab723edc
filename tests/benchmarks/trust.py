"""How far the figures of many designs can be trusted: designs scattered on every field, each against SciPy alone.

    python tests/benchmarks/trust.py [--designs 2000] [--share 0.5] [--case wood | heavy]

Every design that `evaluate` calls ok is played again by SciPy, whether it was in doubt or not: its standard stroke, and
repeated strokes just below and above its rate, at a hundredth of the usual errors. ``heavy`` is a hung key of twenty
times the weight that hardly returns. By hand only: some seconds a hundred designs on an idle machine for the figures,
half a second each for SciPy.
"""

from __future__ import annotations

import argparse
import collections
import multiprocessing
import os
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))

from scattered import scattered

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.code.kernel import load_kernel
from keyaction.sim.figures.columns import QUANTITIES, of_verdict
from keyaction.sim.figures.limits import AGREES
from keyaction.sim.figures.play import NotPlayed, confirm_repetition, press_note
from keyaction.sim.figures.record import Record
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.figures.verdict import verdict
from keyaction.sim.lanes.evaluate import evaluate
from keyaction.sim.lanes.judge import ALLOWED
from keyaction.sim.motion.integrate import Tolerances
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.motion.strokes import standard_stroke

HEAVY = {"key.inertia": "0.05 kg*m^2", "key.pin.breakaway": "6 N*mm", "pallet-spring.force": "1.1 N"}


def trains_of(case, share, count, seed):
    """Trains of C4 with every figure of their equations scattered evenly by a share."""
    base = train_of(case, "C4")
    names, found = [p.name for p in base.system().params], []
    for row in scattered(base, count, seed, share):
        train = base
        for name, value in zip(names, row, strict=True):
            train = train.with_parameter(name, float(value), "scattered")
        found.append(train)
    return found


def judged(task):
    """SciPy's figures of a design, or why there are none: the stroke, and whether it confirms the rate."""
    train, strokes, rate = task
    model = NoteModel(train, Tolerances().finer())
    try:
        pressed = press_note(model, strokes)
        stroke = model.play(standard_stroke(model, strokes))
        again = confirm_repetition(model, strokes, rate) if np.isfinite(rate.rate) else rate
    except NotPlayed as problem:
        return str(problem)
    record = Record(model, strokes, pressed.press, stroke, {}, again)
    watched = {name: one.compute(record) for name, one in QUANTITIES.items() if one.watched}
    return of_verdict(watched | {"repetition_rate": again.rate}, verdict(pressed))


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--designs", type=int, default=2000)
    parser.add_argument("--share", type=float, default=0.5)
    parser.add_argument("--case", choices=("wood", "heavy"), default="wood")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    case = read_case("demo-wood", set_=HEAVY if options.case == "heavy" else {})
    trains, strokes = trains_of(case, options.share, options.designs, options.seed), case.strokes
    load_kernel(trains[0].structure)
    evaluate(trains[:2], strokes, sample=0)
    began = time.perf_counter()
    found = evaluate(trains, strokes, sample=0)
    took = time.perf_counter() - began
    evaluate(trains[: options.designs], strokes, sample=0, decide=False)
    alone = time.perf_counter() - began - took
    print(f"{options.designs} designs of {options.case}, scattered by {options.share:.0%}: {took:.1f} s, "
          f"without SciPy's decisions {alone:.1f} s")  # fmt: skip
    print("status:", collections.Counter(text.partition(":")[0] for text in found.status).most_common())
    print("verdicts:", collections.Counter(told.fate.value for told in found.verdicts).most_common())
    print(f"decided by SciPy: {found.checks[0].doubtful}; sensitive: {found.checks[0].sensitive}")
    for text in [text for text in found.sensitive if text][:20]:
        print("   ", text)
    ok = [i for i, text in enumerate(found.status) if text == "ok"]
    tasks = [(trains[i], strokes, Repetition(found.quantities["repetition_rate"][i], "", 0)) for i in ok]
    with multiprocessing.get_context("fork").Pool(os.cpu_count()) as pool:
        theirs = pool.map(judged, tasks, chunksize=1)
    off, told = collections.Counter(), []
    for i, figures in zip(ok, theirs, strict=True):
        if isinstance(figures, str):
            told.append((i, figures))
            continue
        for name, value in figures.items():
            ours = float(found.quantities[name][i])
            allowed = AGREES if name == "repetition_rate" else ALLOWED
            apart = QUANTITIES[name].resolution.difference(ours, value)
            if not apart <= allowed:
                off[name, "sensitive" if found.sensitive[i] else "unsaid"] += 1
                told.append((i, name, ours, value, found.sensitive[i]))
    print("ok designs played by SciPy:", len(ok), "; off by more than their resolution:", dict(off))
    for one in told[:40]:
        print("   ", *one)


if __name__ == "__main__":
    main()
