# ruff: noqa: E501  a table
"""Whole sweeps on GPUs: designs a second from the plan to blocks ready to be kept, and how near to the processor's.

    python tests/benchmarks/gpu_sweeps.py [--study paper] [--gpus 1] [--groups 8] [--blocks 4096] [--sound 0]

Run by hand on a machine with one GPU or several (extra ``gpu``). Doubts are marked. `--sound` compares so many blocks
of the study's own plan (0: none, -1: all) with those of the processor.

`paper` (C4, 12 inputs, 24 quantities, three steps), 2026-11-27 and 28, H100 with 16 cores each where nothing is said:

| what | designs | a second |
|---|---|---|
| one GPU, groups of 65 536 one after the other | 262 144 | 15 600 |
| three players | 393 216 | 19 300 |
| and groups of 131 072 | 524 288 | 20 700 |
| and trials in single precision end where two strokes are alike, groups of 262 144 | 1 048 576 | 25 500 |
| and there a failing stroke ends a trial however far a body turns, slow trials in two goes | 2 097 152 | 31 300 |
| and lanes of like length sorted on the GPU; motions less urgent than the rest; one thread builds; four players | 2 621 440 | 33 000 |
| as it is kept, from a fresh process on: one GPU | 2 359 296 | 28 400 |
| two GPUs, a process each | 4 718 592 | 55 400 |
| four (H200), a process each, 20 s to begin | 6 144 000 | 94 600 |
| another machine with four H100 (64 cores), the final text: one of them | 2 359 296 | 30 400 |
| two of them | 4 718 592 | 58 500 |
| all four | 12 582 912 | 115 400 |
| with fewer turns of a press, two H200 (32 cores): one of them; both (1.97 times) | 2 359 296; 4 718 592 | 31 700; 62 300 |
| and the final text, four H200 (64 cores): one; two; all four | 2.36; 4.72; 12.58 M | 34 100; 63 300; 128 400 |
| one process for four (H200), lanes shared out | 1 536 000 | 46 000 |

Of the GPU's time at the end, us a design: `walked` 4.1, `stroke` 2.0 and 3.5 in small launches (fewer than 50 000 lanes),
`repeat_closely` 5.3, `repeat` 8.6 and 4.8 in small ones; busy for 62 of 79.5 s, but for the time in which all players
began at once 92 to 95 %. With groups of 131 072 the small launches take twice as much, of 524 288 half.

The whole command (`keyaction sweep --device gpu --doubt mark`): four H100, 7.3 million designs, a sample of 5, to the
dataset in 98 s. Four H200, 10.2 million, a sample of 532: all blocks kept after 115 s, the dataset after 149, `show` 14 s;
before the sample was spread over all groups they waited for it for 100 s more. Two H200, 4.2 million, a sample of 341,
nothing compiled yet: 149 s (the first group after 93 s), `show` 6 s; killed (-9) after 50 s and taken up again the dataset
is the same to the bit.

Tried and left: strokes that are alike in double too (rates of 11 of 65 536 designs were other, and near the boundary they
are not alike); three strokes first at all rates (nearly all trials near the boundary were played twice: 18 900 a second);
eight thousand blocks a group (no faster; twice as long until the first come); six players (no faster than four).
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import partial

import numpy as np

from keyaction.sim.code.machines import see_only
from keyaction.sim.sweep import pool
from keyaction.sim.sweep.at_once import AtOnce
from keyaction.sim.sweep.blocks import Block, Task, compute_packed, packed
from keyaction.sim.sweep.designs import recipe_of
from keyaction.sim.sweep.devices import _Players
from keyaction.sim.sweep.manifest import plan_of
from keyaction.sim.sweep.sweep import load_study


def cut(recipe, count, rows):
    """Blocks of about 64 trains; `rows` gives the rows of the plan from one design to another."""
    size = max(1, 64 // len(recipe.notes))
    for k, first in enumerate(range(0, count, size)):
        last = min(first + size, count)
        yield Task(Block(k, first, last, 0), rows(first, last))


def rate(recipe, gpus, groups, blocks):
    """Plays random designs; tells how many a second come out, with and without what it takes to begin and to end."""
    draw, notes = np.random.default_rng(1), len(recipe.notes)
    count = gpus * groups * blocks * max(1, 64 // notes)
    tasks = cut(recipe, count, lambda first, last: draw.random((last - first, len(recipe.inputs))))
    handed, began, told = pool.grouped(tasks, blocks), time.perf_counter(), [(0.0, 0)]
    found = _Players(recipe, handed, gpus, 1).results() if gpus > 1 else pool.on_a_device(recipe, handed, 1)
    for group in found:
        told.append((time.perf_counter() - began, told[-1][1] + sum(len(one.values) for one in group) * notes))
    times, played = np.array(told).T
    print(f"{gpus} GPUs, groups of {blocks} blocks: {played[-1]:.0f} designs in {times[-1]:.1f} s", end=", ")
    print(f"{played[-1] / times[-1]:.0f}/s")
    first, last = gpus * pool.PLAYERS, len(times) - gpus * pool.PLAYERS // 2
    if last > first + 2:
        slope = np.polyfit(times[first:last], played[first:last], 1)[0]
        print(f"   while all players have work, by a straight line: {slope:.0f}/s; first group after {times[1]:.1f} s")
    print("   " + ", ".join(f"{t:.1f} s: {n / 1e6:.2f} M" for t, n in told[:: max(1, len(told) // 16)]), flush=True)


def sound(recipe, plan, blocks, kept=None):
    """Compares blocks of a study with the processor's, found here or kept: (values, words, doubts) of each."""
    tasks = list(cut(recipe, plan.count, plan.rows))[: blocks if blocks > 0 else None]
    if kept is None:
        with ProcessPoolExecutor() as processes:
            theirs = list(processes.map(partial(compute_packed, packed(replace(recipe, device="cpu"))), tasks))
        kept = [(r.values, {k: v.texts() for k, v in r.words.items()}, [c.doubtful for c in r.checks]) for r in theirs]
    ours = AtOnce(recipe, tasks).results()
    apart, beyond, other = dict.fromkeys(recipe.quantities, 0.0), Counter(), Counter()
    for (values, words, doubts), one in zip(kept, ours, strict=True):
        other["doubts"] += doubts != [check.doubtful for check in one.checks]
        for name, texts in words.items():
            other[name] += sum(a != b for a, b in zip(texts, one.words[name].texts(), strict=True))
        other["none"] += int(np.sum(np.isnan(values) != np.isnan(one.values)))
        with np.errstate(all="ignore"):
            shares = np.nan_to_num(np.abs(values - one.values) / np.maximum(np.abs(values), 1e-12))
        for k, name in enumerate(recipe.quantities):
            apart[name] = max(apart[name], float(shares[..., k].max()))
            beyond[name] += int(np.sum(shares[..., k] > 1e-9))
    trains = sum(values.shape[0] * values.shape[1] for values, *_ in kept)
    print(f"{trains} trains of {len(tasks)} blocks; words, doubts and missing figures that are other: {+other}")
    print("   largest shares apart: " + ", ".join(f"{name} {share:.0e}" for name, share in apart.items()))
    print(f"   beyond 1e-9: {+beyond}", flush=True)


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--study", default="paper")
    options.add_argument("--gpus", type=int, default=1)
    options.add_argument("--groups", type=int, default=8)
    options.add_argument("--blocks", type=int, default=4096)
    options.add_argument("--sound", type=int, default=0)
    options.add_argument("--device", default="gpu")
    given = options.parse_args()
    if given.gpus == 1:
        see_only(0)  # or lanes are shared out to all
    study = load_study(given.study)
    recipe = replace(recipe_of(study), doubt="mark", device=given.device)
    if given.sound:
        sound(recipe, plan_of(study), given.sound)
    if given.groups:
        rate(recipe, given.gpus, given.groups, given.blocks)


if __name__ == "__main__":
    main()
