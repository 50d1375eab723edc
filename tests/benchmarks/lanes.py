"""A standard stroke in lanes of designs against SUNDIALS CVODE Adams and against our SciPy path, at equal error.

Run by hand: python tests/benchmarks/lanes.py [designs]
Needs scikit-sundae (test extra). 1000 designs: every mass, stiffness, length, force and friction of one note of
the demo manual scattered by 10 % (uniform), the seat's squeeze in equilibrium again. Errors: the worst of opening time,
speech delay, release delay, overshoot and peak force against SciPy's LSODA at a relative tolerance of 1e-8.
All times are of one core in one run; each is the shortest of some rounds.
"""

from __future__ import annotations

import ast
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))

import numpy as np
from scattered import scattered
from sksundae.cvode import CVODE

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.figures.measure import crossing
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.motion.integrate import Tolerances, integrate
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.motion.strokes import standard_stroke

NOTE, ROUNDS = 60, 5
NAMES = ("opening_time", "speech_delay", "release_delay", "overshoot", "peak_force")


def figures(t, pressure, travel, lift, force, box, lifted):
    """The five figures of one motion."""
    start = crossing(t, travel - travel[0], 1e-3)
    return np.array(
        [
            crossing(t, pressure, 0.5 * box, after=start) - start,
            crossing(t, pressure, 0.9 * box, after=start) - start,
            crossing(t, pressure, 0.1 * box, after=lifted, rising=False) - lifted,
            np.max(lift[t <= lifted]) - lift[0],
            np.max(force[t <= 0.04]),
        ]
    )


def of_motion(motion, box):
    return figures(
        motion.t, motion["groove_pressure"], motion["key_travel"], motion["pallet_lift"], motion["key_force"], box, 0.19
    )


def right_hand_side(kernel, p, d):
    return lambda t, y, yp: kernel.fill(t, y, p, d, yp)


def by_cvode(kernel, p, start, drive, tolerance):
    """The stroke by CVODE Adams, cut at the knots; the work accounts do not control the step."""
    y, times, states, seen = start, [], [], []
    absolute = Tolerances(relative=tolerance, work=1.0).absolute(kernel.kinds)
    for piece in drive.pieces:
        d = drive.vector(piece)
        grid = np.linspace(piece.start, piece.end, int(np.ceil((piece.end - piece.start) / 2e-4)) + 1)
        solver = CVODE(
            right_hand_side(kernel, p, d),
            method="Adams",
            rtol=tolerance,
            atol=absolute,
            max_step=2.5e-3,
            max_num_steps=100_000,
        )
        path = solver.solve(grid, y)
        y = path.y[-1]
        times.append(path.t)
        states.append(path.y)
        seen.append(kernel.observe(path.t, np.ascontiguousarray(path.y), p, d))
    return np.concatenate(times), np.concatenate(seen)


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    case = read_case("demo-wood")
    train = train_of(case, NOTE)
    model = NoteModel(train)
    kernel, strokes = model.kernel(), case.strokes
    rows = scattered(train, count, 1)
    names = [p.symbol.name for p in train.system().params]
    column = {
        name: kernel.observables.index(name) for name in ("groove_pressure", "key_travel", "pallet_lift", "key_force")
    }

    batch = Batch(train.structure, rows, jobs=1)
    rest = batch.rest()
    print(f"{count} designs, step {batch.h * 1e6:.0f} us, at rest: {np.sum(rest.settled)}")
    drives, exact, scipy_error, starts = [], np.empty((count, 5)), np.empty((count, 5)), []
    scipy_time = []
    for i in range(count):
        p, box = rows[i], rows[i, names.index("p_box")]
        touch = float(rest.seen[i, column["key_travel"]])
        base = standard_stroke(model, strokes)
        scale = rows[i, names.index("dip_key")] / train.dip
        pieces = tuple(
            type(q)(q.start, q.end, (q.way[0] * scale + touch, *(c * scale for c in q.way[1:]))) for q in base.pieces
        )
        drive = type(base)("motion", pieces, base.stiffness, base.damping, 0.0, base.marks)
        drives.append(drive)
        starts.append(rest.states[i].copy())
        exact[i] = of_motion(integrate(kernel, p, starts[i], drive, Tolerances(relative=1e-8)), box)
        begin = time.perf_counter()
        motion = integrate(kernel, p, starts[i], drive)
        scipy_time.append(time.perf_counter() - begin)
        scipy_error[i] = np.abs(of_motion(motion, box) / exact[i] - 1)
    scipy_seconds = float(np.median(scipy_time))
    print(f"SciPy path: {scipy_seconds * 1e3:.1f} ms a stroke, worst error {scipy_error.max():.1e}")

    lift = np.full(count, 6e-3)
    found = batch.stroke(strokes, rest, lift).quantities
    ours = np.stack([found[name] for name in NAMES], axis=1)
    ours[:, 3] *= lift
    error = np.abs(ours / exact - 1)
    missed = np.sum(np.max(error, axis=1) > 0.005)
    one = min(timed(lambda: batch.stroke(strokes, rest, lift)) for _ in range(ROUNDS)) / count
    batch.jobs = 2
    two = min(timed(lambda: batch.stroke(strokes, rest, lift)) for _ in range(ROUNDS)) / count
    print(
        f"lanes: {one * 1e6:.1f} us a stroke ({1 / one:.0f} a second and core), worst error {error.max():.2e} "
        f"({NAMES[int(np.argmax(error.max(axis=0)))]}), beyond 0.5 %: {missed} of {count}; "
        f"two threads {one / two:.2f} times one"
    )
    print(f"lanes against our SciPy path: {scipy_seconds / one:.0f} times")

    single = Batch(train.structure, rows, batch.h, 1, "float32")
    narrow = min(timed(lambda: single.stroke(strokes, rest, lift)) for _ in range(ROUNDS)) / count
    got = single.stroke(strokes, rest, lift).quantities
    apart = max(float(np.nanmax(np.abs(got[name] / found[name] - 1))) for name in NAMES)
    print(
        f"float32: {narrow * 1e6:.1f} us a stroke ({1 / narrow:.0f} a second and core), within {apart:.1e} of float64"
    )
    bound(batch, one)

    sample = range(0, count, max(count // 25, 1))
    for tolerance in (5.6e-5, 1e-4, 5.6e-4):
        spent, wrong = [], []
        for i in sample:
            begin = time.perf_counter()
            t, seen = by_cvode(kernel, rows[i], starts[i], drives[i], tolerance)
            spent.append(time.perf_counter() - begin)
            got = figures(
                t,
                seen[:, column["groove_pressure"]],
                seen[:, column["key_travel"]],
                seen[:, column["pallet_lift"]],
                seen[:, column["key_force"]],
                rows[i, names.index("p_box")],
                0.19,
            )
            wrong.append(np.max(np.abs(got / exact[i] - 1)))
        cvode = float(np.median(spent))
        print(
            f"CVODE Adams rtol {tolerance:.1e}: {cvode * 1e3:.1f} ms a stroke, worst error {max(wrong):.1e}; "
            f"lanes are {cvode / one:.0f} times faster"
        )


def bound(batch, seconds):
    """Operations of a step as generated, and how far a stroke is from the arithmetic alone."""
    text = batch.kernel.source
    body = text[text.index("def stroke(") : text.index("def repeat(")]
    tree = ast.parse(body)
    plain = sum(
        isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add | ast.Sub | ast.Mult) for node in ast.walk(tree)
    )
    divisions = sum(isinstance(node, ast.BinOp) and isinstance(node.op, ast.Div) for node in ast.walk(tree))
    roots = sum(isinstance(node, ast.Call) and getattr(node.func, "id", "") == "rsqrt" for node in ast.walk(tree))
    choices = sum(
        isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("pick", "pos") for node in ast.walk(tree)
    )
    steps = 0.45 / batch.h
    print(
        f"a step: {plain} sums and products, {divisions} divisions, {roots} reciprocal roots, {choices} choices; "
        f"{steps:.0f} steps a stroke, "
        f"{seconds / steps * 1e9:.1f} ns a step and lane, "
        f"{(plain + divisions + 2 * roots) * steps / seconds / 1e9:.1f} thousand million operations a second"
    )


def timed(work):
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


if __name__ == "__main__":
    main()
