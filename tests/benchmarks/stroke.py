"""One standard stroke, our path against the same equations as plain Python: time, evaluations, overhead.

Run by hand: python tests/benchmarks/stroke.py
Ratios come from one run on one machine; both ways use the same method, tolerance and pieces, so their
errors are equal (they are printed, against a run at a relative tolerance of 1e-9).
"""

from __future__ import annotations

import time

import numpy as np

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.figures.measure import crossing
from keyaction.sim.motion.integrate import Tolerances
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.motion.strokes import standard_stroke

ROUNDS = 5


def figures(motion, box):
    """Opening time, delay, release, overshoot and peak force: what the error is judged by."""
    t, p = motion.t, motion["groove_pressure"]
    lift = motion.drive.mark("lift")
    opened = [crossing(t, p, share * box) for share in (0.5, 0.9)]
    return np.array(
        [
            *opened,
            crossing(t, p, 0.1 * box, after=lift, rising=False) - lift,
            motion["pallet_lift"].max(),
            motion["key_force"].max(),
        ]
    )


def best(model, drive):
    """Shortest of some rounds, and the motion."""
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        motion = model.play(drive)
        times.append(time.perf_counter() - start)
    return min(times), motion


def overhead(model, motion):
    """Seconds per evaluation inside the compiled function alone, and of the call from Python around it."""
    kernel, p = model.kernel(), model.parameters()
    d = motion.drive.vector(motion.drive.pieces[0])
    y, count = motion.y[len(motion.t) // 3], 20_000
    start = time.perf_counter()
    for _ in range(count):
        kernel.rates(0.01, y, p, d)
    return (time.perf_counter() - start) / count


def main():
    case = read_case("demo-wood")
    train = train_of(case, 60)
    box = train.role("box").values.derived["p_box"].value
    ours, plain = NoteModel(train), NoteModel(train, plain=True)
    drive = standard_stroke(ours, case.strokes)
    for model in (ours, plain):
        model.play(drive)
    exact = figures(ours.play(drive, Tolerances(relative=1e-9)), box)
    rows = []
    for name, model in (("compiled", ours), ("plain Python", plain)):
        seconds, motion = best(model, drive)
        error = np.max(np.abs(figures(motion, box) / exact - 1))
        rows.append((name, seconds, motion, error))
        print(
            f"{name:13} {seconds * 1e3:8.1f} ms  {motion.evaluations:6d} evaluations  {motion.steps:6d} steps  "
            f"{motion.pieces} pieces  worst error {error:.1e}"
        )
    per_call = overhead(ours, rows[0][2])
    per_stroke = rows[0][1] / rows[0][2].evaluations
    print(
        f"ratio {rows[1][1] / rows[0][1]:.1f}; compiled call from Python {per_call * 1e6:.2f} us, "
        f"whole stroke {per_stroke * 1e6:.2f} us per evaluation: {(per_stroke - per_call) * 1e6:.2f} us of solver"
    )
    rest = ours.rest()
    print(f"states {len(rest)}, observables {len(ours.kernel().observables)}")


if __name__ == "__main__":
    main()
