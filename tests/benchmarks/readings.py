"""What it costs to read figures and verdicts off slow presses that are followed already: run by hand.

``python tests/benchmarks/readings.py`` takes 200 designs of C4 of the shipped manual, scattered by 30 %, a hundred
times over. Times are of the processor, a design, one thread, of one run; Numba compiles the loops for this alone.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np
from numba import njit

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))

from read_rows import Rows, trains_of
from scattered import scattered

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.figures.columns import QUANTITIES, of_fates
from keyaction.sim.figures.possible import beyond
from keyaction.sim.figures.record import Pressed
from keyaction.sim.figures.verdict import verdict
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.lanes.presses import presses
from keyaction.sim.statics import feel_curve, reading

TIMES = 100


def main() -> None:
    """Print a line for each step."""
    case = read_case("demo-wood")
    train = train_of(case, "C4")
    trains = trains_of(train, scattered(train, 200, 3, 0.3))
    found = presses(trains, case.strokes, Batch.of(trains).rest())
    rows = Rows([one for one in found if isinstance(one, Pressed)])
    standing = [one for one in QUANTITIES.values() if one.source in ("slow press", "train")]
    timed(
        "note by note: figures", len(rows.notes), lambda: [one.compute(note) for note in rows.notes for one in standing]
    )
    timed("note by note: verdicts", len(rows.notes), lambda: [verdict(note) for note in rows.notes])
    compiled = read_compiled()
    loops = [arguments(rows, note, compiled) for note in rows.notes]
    loops[0]()
    timed("read_press, Numba", TIMES * len(loops), lambda: [one() for _ in range(TIMES) for one in loops])
    timed("the same press again", TIMES * len(loops), lambda: [one() for one in loops for _ in range(TIMES)])
    out, parameters, feet = (np.tile(one, (TIMES, 1)) for one in (rows.out, rows.parameters, rows.feet[:, None]))
    derived = {name: np.tile(values, TIMES) for name, values in rows.derived.items()}
    figures = timed("figures of all", len(out), lambda: rows.reader.figures(out, parameters, derived, jobs=1))
    told = timed("verdicts of all", len(out), lambda: rows.reader.verdicts(out, parameters, feet[:, 0]))
    timed("what is possible", len(out), lambda: beyond(of_fates(figures, told.fates)))


def read_compiled():
    """The loops, compiled."""
    for module in (feel_curve, reading):
        for name in module.COMPILED:
            made = njit(error_model="numpy", nogil=True)(getattr(module, name))
            setattr(module, name, made)
            setattr(reading, name, made)
    return reading.read_press


def arguments(rows, note, read_press):
    """A call that reads one note again."""
    ways = [note.press.down, note.press.up]
    each = [
        (one.finger, np.ascontiguousarray(one.states), np.ascontiguousarray(one.seen), len(one.finger)) for one in ways
    ]
    given, work = (
        rows.reader.given(np.array([ways[0].rest]))[0],
        np.empty(reading.ROWS * max(each[0][3], each[1][3])),
    )
    columns, out = rows.reader.columns, np.empty(rows.reader.width)
    return lambda: read_press(*each[0], *each[1], columns, given, work, out)


def timed(what, count, work):
    """Do it and print its time."""
    start = time.process_time()
    found = work()
    print(f"{what:24} {1e6 * (time.process_time() - start) / count:8.2f} µs")
    return found


if __name__ == "__main__":
    main()
