"""Notes struck together on a rail that floats: seconds of the processor by number of notes on it.

Run by hand: python tests/benchmarks/rails.py
The first line is what a fresh process takes besides.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))

from rails import behind, rail, regulated

from keyaction.models.notes import note_name
from keyaction.sim.floating.struck import strike

STRUCK = ["C3", "G3", "C4", "E4", "G4", "C5", "E5", "G5", "C6", "E6"]


def main():
    case = behind()
    names = [note_name(note, case.naming) for note in case.compass]
    start = time.process_time()
    of = rail(0.45 * len(names), mass=2.4, friction=0.5)
    trains, rods = regulated(names, of)
    print(f"nuts of {len(names)} notes set {time.process_time() - start:.1f} s")
    for on_it, struck in ((STRUCK[:1], STRUCK[:1]), (STRUCK, STRUCK), (names, STRUCK[:1]), (names, STRUCK)):
        here = rail(0.45 * len(on_it), mass=2.4, friction=0.5)
        start = time.process_time()
        found = strike({n: trains[n] for n in on_it}, {n: rods[n] for n in on_it}, here, struck, case.strokes)
        took = time.process_time() - start
        left = abs(found.motion.audit.residual) / found.motion.audit.throughput
        ways = f"{1e3 * found.at_pluck:+.2f} mm at the pluck, {1e3 * found.rebound:+.2f} mm after"
        print(
            f"{len(on_it):3d} notes, {len(struck):2d} struck {took:6.2f} s  {found.motion.evaluations:6d} evaluations  "
            f"work left over {left:.0e}  rail {ways}; sound unplayed: {len(found.sounding)}"
        )


if __name__ == "__main__":
    main()
