"""A made-up study of many designs, kept, put together and shown: time, memory, size and files of each.

Nothing is played: the figures are a few lines of algebra in the inputs of the shipped study `paper`, so that what is
measured is what happens to figures once they are there.

Run by hand: python tests/benchmarks/millions.py [ROWS [PLAN [FOLDER]]]

Measured (plan sobol, 12 inputs, 24 quantities; two cores shared with eight other programs, so processor time counts):

    designs kept   files, size    most in a folder   dataset   show              pictures   most memory
    1e6            7, 0.4 GB      7                  0.3 GB    6 s (was 225 s)   34 s       250 MB
    1e7            61, 4.0 GB     61                 3.1 GB    12 s              64 s       260 MB (pictures 310 MB)
"""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from keyaction.cases.study.find import shipped_studies
from keyaction.cases.study.plans import SIZES
from keyaction.sim.figures.verdict import Fate
from keyaction.sim.sweep.blocks import BlockResult, Coded
from keyaction.sim.sweep.designs import recipe_of
from keyaction.sim.sweep.folder import RESULTS, StudyFolder
from keyaction.sim.sweep.manifest import manifest, plan_of
from keyaction.sim.sweep.playing import CODED
from keyaction.sim.sweep.results import assemble, blocks_of
from keyaction.sim.sweep.sweep import load_study

AT_ONCE = 64
"""Blocks that are kept together."""
FAILED = 0.01
"""Share of designs that have no figures."""


def made_up(folder: Path, rows: int, plan: str):
    """The study `paper` with a plan of about so many rows."""
    text = shipped_studies()["paper"].read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith(("plan", "base_points", "second_order"))]
    inputs = text.count("[[vary]]")
    size = rows // {"sobol": inputs + 2, "morris": inputs + 1}.get(plan, 1)
    at = lines.index("[study]") + 1
    lines[at:at] = [f'plan = "{plan}"', f"{SIZES[plan]} = {size}"]
    path = folder / "made-up.toml"
    path.write_text("\n".join(lines), encoding="utf-8")
    return load_study(path)


def figures(places: np.ndarray, weights: np.ndarray, random: np.random.Generator) -> np.ndarray:
    """Smooth quantities of positive value, some of them in steps, and some designs without any."""
    found = 1.0 + places @ weights + 0.3 * (places[:, :1] * places[:, 1:2]) * weights[2]
    found[:, ::5] = np.round(found[:, ::5], 1)
    found[random.random(len(found)) < FAILED] = np.nan
    return found[:, None, :]


def fill(folder: Path, rows: int, plan_name: str):
    """Keep every block of the study, as a sweep on a device would: some together, each time seen onto the disk."""
    study = made_up(folder.parent, rows, plan_name)
    recipe, plan = recipe_of(study), plan_of(study)
    data = manifest(study, recipe, 0)
    held = StudyFolder(folder, "")
    held.begin(data)
    weights = np.random.default_rng(1).random((plan.inputs, len(study.quantities)))
    random = np.random.default_rng(2)
    spent, clock, planned, waiting = 0.0, 0.0, 0.0, list[BlockResult]()
    blocks = blocks_of(data)
    for block in blocks:
        began = time.process_time()
        places = plan.rows(block.start, block.stop)
        planned += time.process_time() - began
        values = figures(places, weights, random)
        fine = np.isfinite(values[:, 0, 0])
        words = dict.fromkeys(CODED, ("",) * len(fine))
        words["status"] = tuple("ok" if one else "failed: it never settled" for one in fine)
        words["verdict"] = (Fate.SPEAKS.value,) * len(fine)
        began, moment = time.process_time(), time.perf_counter()
        coded = {name: Coded.of(texts) for name, texts in words.items()}
        waiting.append(BlockResult(block, values, places, places, coded, (), 0.0))
        if len(waiting) == AT_ONCE or block.stop == plan.count:
            held.add(waiting, data["key"])
            waiting = []
        spent, clock = spent + time.process_time() - began, clock + time.perf_counter() - moment
    held.release()
    print(
        f"{len(blocks) / spent:.0f} blocks a second of processor time into files, {len(blocks) / clock:.0f} by the "
        f"clock with the disk, {AT_ONCE} at once; rows of the plan {planned / plan.count * 1e6:.2f} µs each"
    )
    return data


def told(label: str, began: float, more: str = "") -> None:
    """One line of the table."""
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{label:44s} {time.perf_counter() - began:7.1f} s, most memory so far {most:6.0f} MB{more}", flush=True)


def show(folder: Path, *options: str) -> None:
    """The command in a process of its own, with its processor time and most memory."""
    words = [sys.executable, "-m", "keyaction", "sweep", "show", str(folder), *options]
    began, before = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
    process = subprocess.Popen(words, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    assert status == 0, status
    del before
    print(
        f"{'show ' + ' '.join(options)[:38]:44s} {time.perf_counter() - began:7.1f} s, processor "
        f"{used.ru_utime + used.ru_stime:6.1f} s, most memory {used.ru_maxrss / 1024:6.0f} MB",
        flush=True,
    )


def main(rows: int = 1_000_000, plan: str = "sobol", place: str = "") -> None:
    """Make, assemble, show."""
    top = Path(place or tempfile.mkdtemp(prefix="keyaction-millions-"))
    top.mkdir(exist_ok=True)
    folder = top / "swept"
    began = time.perf_counter()
    data = fill(folder, rows, plan)
    many = max(len(list(one.iterdir())) for one in [folder, *(p for p in folder.rglob("*") if p.is_dir())])
    files = list(folder.rglob("*.blocks"))
    size = sum(path.stat().st_size for path in files) / 1e9
    told(f"{data['designs']} designs kept", began, f"; {len(files)} files, {size:.2f} GB, at most {many} in a folder")
    began = time.perf_counter()
    assemble(folder, data, folder / RESULTS)
    told("put together", began, f"; {(folder / RESULTS).stat().st_size / 1e9:.2f} GB")
    show(folder)
    show(folder, "--pareto", "pluck_force,repetition_rate", "--quantity", "pluck_force,opening_time")
    show(folder, "--plots", str(top / "pictures"))
    if not place:
        shutil.rmtree(top)


if __name__ == "__main__":
    main(*(int(word) if word.isdigit() else word for word in sys.argv[1:]))
