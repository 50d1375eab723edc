# ruff: noqa: E501  a table
"""Slow presses on a GPU: how many a second, and how near to the processor's.

    python tests/benchmarks/gpu_presses.py [--designs 65536] [--sound 200] [--device gpu]

Run by hand on a machine with a GPU (extra ``gpu``).

What was tried, 2026-11-27, one H100 (80 GB), double precision: thousand presses a second, both ways followed and nothing
else (65 536 designs that are 1024 of C4 of `demo-wood` again and again, every figure scattered by 10 %; 1481 turns of the
loop a press), with the registers and the local memory (bytes) of a thread, by CuPy 14 with CUDA 13.

| what | presses |
|---|---|
| first text: all arrays of a thread local, divisions and roots of the library | 128, 255, 2128 |
| the same without fused multiply-add | 125, 255, 2112 |
| with 32; 64; 256 threads a block | 128; 128; 129 |
| with registers held down for 3; 4; 6; 8 blocks of 128 threads | 99 (168); 111 (128); 103 (80); 100 (64) |
| elimination and equations as calls; those and what calls them; whatever the compiler would | 114; 107; 126 |
| the loops of the elimination not unrolled | 140, 255, 2112 |
| and no row divided where nothing is to be taken off | 152, 255, 2112 |
| no loop at all unrolled | 103, 226, 3152 |
| Newton's equations in shared memory, 64 or 128 threads a block | 173, 255, 2336 |
| and registers held down for 3 blocks of 128 threads | 136, 168, 2704 |
| and constants of a design taken out, divisions and roots by a guess and one step of third order, a sine with its cosine, slopes put together in registers; all loops unrolled | 225, 255, 1504 |
| the same, the loops of the elimination not unrolled | 246, 255, 1504 |
| the same, unrolling left to the compiler (**kept**) | 250, 255, 1504 |
| registers held down for 6; 8 blocks of 64 threads | 189 (168); 176 (128) |

A turn of a group of 32 threads took 17 300 instructions before the constants were taken out and 7600 after; 23 to 26 of the
32 threads take part in the mean instruction (a press takes 93 % of the turns of the longest of its 32). A thread waits
for memory and for its next instruction more than for arithmetic: of the local memory a third is found in the first cache.
With fewer designs a GPU is not full: 95 thousand a second of 16 384, 125 of 32 768, where 65 536 gave 128 (the first text).

Since the bracket of an extreme force is drawn closer by what else is sought, a press takes 1440 turns; one H200 with all
that is sent and read 228 thousand a second. Since steps are halved where the force bends it takes 1567: four H200 495.

With all that is sent and read, and the figures read from the ways, 192 thousand presses a second with the text that was
225 alone: of 341 ms 9 were sending, 291 following, 6 what is seen along the ways, 8 reading figures, 15 bringing them back.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))

from scattered import scattered

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.lanes.engines import machine_of
from keyaction.sim.lanes.read_presses import PressReader
from keyaction.sim.statics.pressed_rows import Read, pressed_rows
from keyaction.sim.statics.reading import FIGURES

NOTE, ROUNDS, DRAWN = 60, 4, 1024


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--designs", type=int, default=65_536)
    options.add_argument("--sound", type=int, default=200)
    options.add_argument("--device", default="gpu")
    given = options.parse_args()
    case = read_case("demo-wood")
    train, strokes = train_of(case, NOTE), case.strokes
    rows = scattered(train, min(DRAWN, given.designs), 1)
    rests = Batch(train.structure, rows, 150e-6).rest().states
    reader = PressReader(train.structure, strokes.press_stiffness)

    def pressed(which, device):
        read = Read(reader.columns, reader.given(np.zeros(len(which))), reader.width)
        return pressed_rows(train.structure, rows[which], rests[which], strokes, machine_of(device), read)

    few = np.arange(min(given.sound, len(rows)))
    ours, theirs = (pressed(few, device) for device in ("cc", given.device))
    size = np.nanmax(np.abs(ours.out), axis=0) + 1e-12
    apart = np.nanmax(np.abs(theirs.out - ours.out) / size, axis=0)
    told = ", ".join(f"{name} {value:.0e}" for name, value in zip(FIGURES, apart, strict=False))
    print(f"{len(few)} designs: codes alike {np.array_equal(ours.code, theirs.code)}; largest difference {told}")
    many, best = np.arange(given.designs) % len(rows), np.inf
    for _ in range(ROUNDS):
        begin = time.perf_counter()
        found = pressed(many, given.device)
        best = min(best, time.perf_counter() - begin)
    left = int(np.count_nonzero(found.code))
    print(f"{len(many) / best:.0f} presses/s with all that is sent and read; {left} left to the processor")
    print(f"{np.mean(np.sum(found.turns, axis=1)):.0f} turns of the loop a press")


if __name__ == "__main__":
    main()
