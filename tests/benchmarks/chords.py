"""A chord stroke by SciPy, compiled and warm: seconds by number of notes, and how well the work of all closes.

Run by hand: python tests/benchmarks/chords.py
A stroke of ten notes is to take less than 2 s of the processor. The first line is what a fresh process takes besides.
"""

from __future__ import annotations

import time

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.chord.places import Player
from keyaction.sim.chord.together import play_together
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.motion.strokes import standard_stroke
from keyaction.sim.wind.supplies import supply_of

NOTES = ["C2", "G2", "C3", "E3", "G3", "C4", "E4", "G4", "C5", "E5"]
ROUNDS = 3


def main():
    case = read_case("demo-wood")
    models = {name: NoteModel(train_of(case, name)) for name in NOTES}
    supply = {"box": supply_of(models["C4"].train.role("box"))}
    players = [Player(name, one, standard_stroke(one, case.strokes), {"box": "box"}) for name, one in models.items()]
    start = time.perf_counter()
    play_together(players[:1], supply)
    print(f"first stroke of one note {time.perf_counter() - start:.2f} s")
    for count in (1, 2, 4, 10):
        times = []
        for _ in range(ROUNDS):
            start = time.process_time()
            found = play_together(players[:count], supply)
            times.append(time.process_time() - start)
        left = abs(found.audit.residual) / found.audit.throughput
        lowest = found.boxes["box"].pressure.min() / found.boxes["box"].supply.pressure
        print(
            f"{count:3d} notes {min(times):6.2f} s  {found.evaluations:6d} evaluations  work left over {left:.0e}  "
            f"box at its lowest {100 * lowest:.0f} %"
        )


if __name__ == "__main__":
    main()
