# ruff: noqa: E501  a table
"""Lanes on GPUs: how many designs a second, and how near to the processor's lanes.

    python tests/benchmarks/gpu.py [--designs 270336] [--sound 200] [--searched 20000] [--evaluated 560] [--device gpu]

Run by hand on a machine with one GPU or several (extra ``gpu``).

What was tried, 2026-11-27, one H100 (80 GB): million standard strokes a second, the motion alone (3001 steps of 150 us,
270 336 designs that are 1000 of C4 of `demo-wood` again and again, every figure scattered by 10 %), with the registers and
the spilled bytes of a thread, by CuPy 14 with CUDA 13.

| what | double | single |
|---|---|---|
| rows in one array each over all designs, events by choices, divisions of the library (an earlier trial) | 1.04, 255, 1544 | 10.3, 255, 160 |
| blocks of 32 lanes, so that rows lie at fixed distances: no address to keep; events written when they happen, flags whole numbers; reciprocals and roots by a guess and one step of third order | 3.07, 255, 968 | 12.85, 255, 0 |
| and constants of 0 and 1 left out, opposites shared (**kept**) | 5.19, 255, 648 | 14.96, 241, 0 |
| and what all designs have in common in constant memory | 5.40, 255, 464 | 15.40, 222, 0 |
| and 20, 40, 60, 80, 100 constants of a design in shared memory, read anew every time | 5.32, 5.43, 5.56, 5.45, 5.38 | |
| shared memory without the rest: 60; 100 constants | 2.24 (100) | 12.76 (60) |
| the fourth row, with 64; 128; 256 threads a block | 5.35; 5.40; 5.46 | 15.39; 15.40; 15.47 |
| with registers held down to 168 for three blocks of 128 threads | 3.55, 168, 872 | 12.87, 168, 104 |
| two steps a turn of the loop | 5.03, 255, 704 | 15.37, 225, 0 |
| compiled with ``-use_fast_math`` (its divisions and roots are ours already) | | 15.40; without 15.40 |
| as it is kept, each design with its own step, played by this program | 5.04 | 14.87 |
| two GPUs (H200), against one of them | 10.05, 1.99 times | 29.69, 2.00 times |

Rows after the fourth were measured on top of it, but where they say otherwise; constant memory needs a text for each pattern of what
is common, for 4 % and 3 %. Not tried: two threads a design (nothing spills in single precision, and double is two and a half
times the aim); constants in single precision under double states (they would move figures by 1e-7, and 1e-9 is wanted).

Single precision is safe (within 1e-5, over 200 designs scattered by 10 %) for opening time, speech delay, release delay,
overshoot, peak force, pallet speed, bounces and the repetition rate; speech after release is a small difference, to 1e-4.
Sweeps use double.

With all that is sent and read, one core and one H100, 65 536 designs: 3.2 (double) and 5.7 (single) million strokes a second;
before levels, drives, constants and figures were computed on the device 0.66 and 0.83. Rests 2.1 million a second, designs laid
at a finer step 18 million. Repetition searches a second, 20 000 designs (before: 6900):

| what | C4, 10 % | G6, 10 % | hung-rollers, 20 % | sticker-backfall, 20 % |
|---|---|---|---|---|
| all in double, a trial ends with its first failing stroke | 54 200 | 54 400 | 39 200 | 82 700 |
| single first, close ones and the boundary again in double; rates that came out otherwise | 97 400; none | 69 200; 3 | 67 000; none | 126 700; none |
| and 2 Hz around the boundary, and tenths, in double (**kept**) | 89 100; none | 81 900; none | 65 500; none | 117 400; none |
| and ended where a stroke begins as the last one did | as before | | | |

(the last two cases 10 000 designs). All of `evaluate` but presses, designs scattered by 10 % in blocks of 64, finer steps for
all, doubts marked, fastest vibrations in eight threads: 51 200 at 28 800 a second, 100 000 at 32 000; four threads of 51 200
each 33 000. Of the 2.0 s that 51 200 took before steps were handed in side by side, the search took 0.6, boundaries at finer steps
0.5, strokes 0.4, walks of disputed rates 0.25.

Whole sweeps: `gpu_sweeps.py`.
"""

from __future__ import annotations

import argparse
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from itertools import cycle, islice
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))

from scattered import scattered

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.code.c_text import CText
from keyaction.sim.figures.rates import searched
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.lanes.evaluate import evaluate
from keyaction.sim.lanes.plays import Standard
from keyaction.sim.lanes.sent import Sent

NOTE, ROUNDS = 60, 4


def drawn(train, count, inputs):
    """Designs of which every figure is scattered by 10 %, or only so many of them."""
    rows = scattered(train, count, 1)
    if inputs:
        base, varied = rows[0].copy(), np.flatnonzero(np.ptp(rows, axis=0) > 0)[:: max(1, 60 // inputs)][:inputs]
        kept, rows = rows, np.tile(base, (count, 1))
        rows[:, varied] = kept[:, varied]
    return rows


def begun(rows, real, device, train, step=150e-6):
    batch = Batch(train.structure, rows, step, real=real, device=device)
    return batch, batch.rest()


def motion_alone(batch, rest, strokes, devices):
    """Strokes a second with all data on the devices already: the motion alone."""
    engine, count = batch.engine, len(batch)
    laid = batch._laid(Standard.of(strokes), batch._levels(rest, lifts=Sent(np.full((count, 1), 6e-3))))
    text = CText(engine.rows.source, engine.rows.real, laid.known).text("stroke")
    machine, arrays = engine.machine, engine.machine.arrays
    sent = []
    for device in range(devices):
        with machine.on(device):
            made, there = engine._sent(laid, slice(0, count))
            sent.append((there, (made.steps, made.levels["h"].astype(engine.rows.real))))

    def play(device):
        there, given = sent[device]
        with machine.on(device):
            machine.call(text, "stroke", count, np.int32(there.shape[1]), *given, there)
            if hasattr(arrays, "cuda"):
                arrays.cuda.Device(device).synchronize()

    with ThreadPoolExecutor(devices) as pool:
        return devices * count / min(timed(lambda: list(pool.map(play, range(devices)))) for _ in range(ROUNDS))


def twice(rows, strokes, device, train):
    """Rates found in single precision first, against those that are all found in double."""
    batch, rest = begun(rows, "float64", device, train)
    exact = batch.judge(strokes, rest)
    began = time.perf_counter()
    alone = searched(len(rows), strokes.repetition_highest, exact)
    spent = time.perf_counter() - began
    found = batch.repetition(strokes, rest)
    apart = {
        name: int(np.sum(getattr(found, name) != getattr(alone, name)))
        for name in ("tenths", "limits", "again", "trials")
    }
    print(f"{len(rows)} rates all in double: {len(rows) / spent:.0f} searches/s; others in single first: {apart}")
    grid = np.array([*range(10, 200, 5), 200])
    tenths, which = np.repeat(grid, len(rows)), np.tile(np.arange(len(rows)), len(grid))
    told, sure = batch._quickly(strokes, rest)(tenths, which)
    wrong = (told == 0) != (exact(tenths, which) == 0)  # which stroke fails, and how, is not asked of a quick one
    print(
        f"of {len(told)} trials {np.sum(~sure)} are close, {np.sum(wrong)} wrong, {np.sum(wrong & sure)} of them not close"
    )


def timed(work):
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def apart(ours, theirs):
    """Largest difference of figures by name, as a share of the figure."""
    found = {}
    for name, values in ours.items():
        size = np.maximum(np.abs(values), 1e-9)
        found[name] = float(np.nanmax(np.abs(theirs[name] - values) / size))
    return ", ".join(f"{name} {value:.0e}" for name, value in found.items())


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--designs", type=int, default=270336)
    options.add_argument("--sound", type=int, default=200)
    options.add_argument("--searched", type=int, default=20_000)
    options.add_argument("--evaluated", type=int, default=560)
    options.add_argument("--device", default="gpu")
    given = options.parse_args()
    case = read_case("demo-wood")
    train, strokes = train_of(case, NOTE), case.strokes
    for real in ("float64", "float32"):
        for inputs in (0, 5):
            rows = drawn(train, given.designs, inputs)
            batch, rest = begun(rows, real, given.device, train)
            lifts, devices = np.full(len(rows), 6e-3), batch.engine.machine.devices
            told = "all figures scattered" if not inputs else f"{inputs} inputs"
            for many in sorted({1, devices}):
                rate = motion_alone(batch, rest, strokes, many)
                print(
                    f"{real}, {told}, {many} of {devices} GPUs: {rate / 1e6:.2f} M strokes/s, the motion alone",
                    flush=True,
                )
            whole = min(timed(lambda: batch.stroke(strokes, rest, lifts)) for _ in range(ROUNDS))  # noqa: B023
            print(
                f"{real}, {told}: {len(rows) / whole / 1e6:.2f} M strokes/s with all that is sent and read", flush=True
            )
            few = np.arange(min(len(rows), 20_000))
            some, at = batch.some(few), rest.some(few)
            spent = min(timed(lambda: some.repetition(strokes, at)) for _ in range(2))  # noqa: B023
            print(f"{real}, {told}: {len(few) / spent:.0f} repetition searches/s", flush=True)
            for what, work in (("rests", batch.rest), ("designs laid at a finer step", lambda: batch.finer(0.7))):  # noqa: B023
                print(f"{real}, {told}: {len(rows) / min(timed(work) for _ in range(2)):.0f} {what}/s", flush=True)
        if real == "float64":
            twice(drawn(train, given.searched, 0), strokes, given.device, train)
        rows = drawn(train, given.sound, 0)
        found = []
        for device in ("cpu", given.device):
            batch, rest = begun(rows, real, device, train)
            stroke = batch.stroke(strokes, rest, np.full(len(rows), 6e-3))
            rates = batch.repetition(strokes, rest).rate
            found.append(stroke.quantities | {"repetition_rate": rates})
        print(
            f"{real}, {len(rows)} designs, share by which figures differ from the processor's: {apart(*found)}",
            flush=True,
        )
    trains = list(islice(cycle([train_of(case, note) for note in case.compass]), given.evaluated))
    for device in ("cpu", given.device):
        evaluate(trains[:64], strokes, jobs=1, sample=0, device=device)
        spent = timed(lambda: evaluate(trains, strokes, jobs=1, sample=0, device=device))  # noqa: B023
        print(f"all quantities, {device}, one thread: {len(trains) / spent:.0f} designs/s", flush=True)


if __name__ == "__main__":
    main()
