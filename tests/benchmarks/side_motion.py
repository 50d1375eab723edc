"""A standard stroke with side motion and without: evaluations of the equations, steps, time; of SciPy and of lanes.

Run by hand: python tests/benchmarks/side_motion.py
C4 of `demo-wood`, its level tracker of 1.8 m on guides every 450 and 600 mm; every rod straight, the tracker whipping,
and the same with a comb 3 mm beside it.
"""

from __future__ import annotations

import shutil
import tempfile
import time
from pathlib import Path

import numpy as np

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.cases.text.find import find_case
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.motion.strokes import standard_stroke

ROUNDS, DESIGNS = 5, 256
WHIPS = "side_motion = true\n"
COMB = 'slap = { play = "3 mm", squeeze = "0.3 mm", force = "2 N" }\n'
WAYS = {"straight": "", "side motion": WHIPS, "and a comb": WHIPS + COMB}


def case_of(folder, spacing, more):
    """The shipped case with guides and what else the tracker has."""
    shipped = find_case("demo-wood")
    places = ", ".join(f'{{ at = "{at} mm" }}' for at in range(spacing, 1800, spacing))
    head = 'name = "level-tracker"\n'
    told = f"{head}guides = {{ stations = [{places}] }}\n{more}"
    (folder / "guided.toml").write_text(shipped.read_text(encoding="utf-8").replace(head, told), encoding="utf-8")
    shutil.copy(shipped.with_name("demo-chest.csv"), folder)
    return read_case(folder / "guided.toml")


def in_lanes(model, strokes):
    """Seconds a stroke in lanes, of many designs alike."""
    batch = Batch(model.train.structure, np.tile(model.parameters(), (DESIGNS, 1)), jobs=1)
    rest, lifts, times = batch.rest(), np.full(DESIGNS, 6e-3), []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        batch.stroke(strokes, rest, lifts)
        times.append(time.perf_counter() - start)
    return min(times) / DESIGNS


def main():
    """Print a table: each row against the straight rods."""
    with tempfile.TemporaryDirectory() as name:
        for spacing in (450, 600):
            usual = None
            for words, more in WAYS.items():
                case = case_of(Path(name), spacing, more)
                model = NoteModel(train_of(case, "C4"))
                drive, times = standard_stroke(model, case.strokes), []
                model.play(drive)
                for _ in range(ROUNDS):
                    start = time.perf_counter()
                    motion = model.play(drive)
                    times.append(time.perf_counter() - start)
                row = np.array(
                    [motion.evaluations, motion.steps, 1e3 * min(times), 1e6 * in_lanes(model, case.strokes)]
                )
                usual = row if usual is None else usual
                ratios = " ".join(f"{one:.2f}" for one in row / usual)
                print(f"{spacing} mm, {words:12} {row[0]:.0f} evaluations, {row[1]:.0f} steps, {row[2]:.1f} ms, "
                      f"{row[3]:.1f} us in lanes; ratios {ratios}")  # fmt: skip


if __name__ == "__main__":
    main()
