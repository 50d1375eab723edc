"""How far the figures of many designs can be trusted: designs scattered on every field, each against SciPy alone.

    python tests/benchmarks/trust.py [--designs 2000] [--share 0.5] [--case wood | heavy | hung | cells]

Every design is played again by SciPy, whether it was in doubt or not: its standard stroke, and repeated strokes just
below and above its rate, at a hundredth of the usual errors. ``wood`` is C4 of the wooden demonstration manual;
``heavy`` the same with a key of twenty times the inertia; ``hung`` a heavy tail-hinged key, stiff on its pin, over a
weak spring, which hardly returns; ``cells`` a grid of 1728 of these, twelve inertias by twelve pins by twelve springs.
By hand only: a second a hundred designs on an idle machine for the figures, half a second each for SciPy.
"""

from __future__ import annotations

import argparse
import collections
import multiprocessing
import os
import re
import sys
import tempfile
import time
from itertools import product
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))

from scattered import scattered
from short_case import write_case

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

CELLS = {
    "key.inertia": [f"{value:.5f} kg*m^2" for value in np.linspace(0.01, 0.06, 12)],
    "key.pin.breakaway": [f"{value:.3f} N*mm" for value in np.linspace(2, 32, 12)],
    "pallet-spring.force": [f"{value:.4f} N" for value in np.linspace(1.3, 2.0, 12)],
}
HUNG = {"key.inertia": "0.04 kg*m^2", "key.pin.breakaway": "12 N*mm", "pallet-spring.force": "1.6 N"}
MOMENT = {"key.balance_moment": "0.15 N*m"}


def hung_case(sizes):
    """The short action: a tail-hinged key that pulls its pallet directly."""
    with tempfile.TemporaryDirectory() as folder:
        return read_case(write_case(Path(folder)), set_=MOMENT | sizes)


def cells():
    """A grid of heavy tail-hinged keys, most of which hardly return."""
    return [train_of(hung_case(dict(zip(CELLS, sizes, strict=True))), "C4") for sizes in product(*CELLS.values())]


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
        if not stroke.status.ok:
            return stroke.status.message
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
    parser.add_argument("--case", choices=("wood", "heavy", "hung", "cells"), default="wood")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    case = hung_case(HUNG) if options.case in ("hung", "cells") else read_case(
        "demo-wood", set_=HEAVY if options.case == "heavy" else {})  # fmt: skip
    strokes = case.strokes
    scatter = f", scattered by {options.share:.0%}"
    trains = cells() if options.case == "cells" else trains_of(case, options.share, options.designs, options.seed)
    load_kernel(trains[0].structure)
    evaluate(trains[:2], strokes, sample=0)
    found, took = timed(lambda: evaluate(trains, strokes, sample=0))
    _, alone = timed(lambda: evaluate(trains, strokes, sample=0, decide=False))
    print(f"{len(trains)} designs of {options.case}{scatter * (options.case != 'cells')}: {took:.1f} s, "
          f"at one step without decisions {alone:.1f} s")  # fmt: skip
    print("status:", collections.Counter(re.sub(r"[\d.]+", "#", text) for text in found.status).most_common())
    print("verdicts:", collections.Counter(told.fate.value for told in found.verdicts).most_common())
    print(f"decided by SciPy: {found.checks[0].doubtful}; sensitive: {found.checks[0].sensitive}")
    for text in [text for text in found.sensitive if text][:20]:
        print("   ", text)
    tasks = [
        (train, strokes, Repetition(rate, "", 0))
        for train, rate in zip(trains, found.quantities["repetition_rate"].tolist(), strict=True)
    ]
    with multiprocessing.get_context("fork").Pool(os.cpu_count()) as pool:
        theirs = pool.map(judged, tasks, chunksize=1)
    ok = np.array([text == "ok" for text in found.status])
    played = np.array([not isinstance(one, str) for one in theirs])
    print(f"ok and played by SciPy {np.sum(ok & played)}, by neither {np.sum(~ok & ~played)}, "
          f"ok only {np.sum(ok & ~played)}, by SciPy only {np.sum(~ok & played)}")  # fmt: skip
    for i in np.flatnonzero(ok != played)[:20].tolist():
        print("   ", i, found.status[i], "|", theirs[i] if isinstance(theirs[i], str) else "played")
    compare(found, theirs, np.flatnonzero(ok & played).tolist())


def timed(what):
    """What comes of it, and how long it took."""
    began = time.perf_counter()
    return what(), time.perf_counter() - began


def compare(found, theirs, which):
    """Print which figures are off by more than their resolution."""
    off, told = collections.Counter(), []
    for i in which:
        for name, value in theirs[i].items():
            ours = float(found.quantities[name][i])
            allowed = AGREES if name == "repetition_rate" else ALLOWED
            if not QUANTITIES[name].resolution.difference(ours, value) <= allowed:
                off[name, "sensitive" if found.sensitive[i] else "unsaid"] += 1
                told.append((i, name, ours, value, found.sensitive[i]))
    print("off by more than their resolution:", dict(off))
    for one in told[:60]:
        print("   ", *one)


if __name__ == "__main__":
    main()
