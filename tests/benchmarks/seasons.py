"""A year of 365 days for the 142 notes of the demo instrument: seconds, resting states and presses: run by hand.

``python tests/benchmarks/seasons.py`` runs each division twice, the first warming what is compiled. Seconds are of the
clock and of the processor, one run on one machine.
"""

from __future__ import annotations

import time

import numpy as np

from keyaction.cases.instrument.reader import read_instrument
from keyaction.sim.seasons.engine import seasons


def main() -> None:
    """Print a line for each division and one for all."""
    instrument = read_instrument("demo-instrument")
    total = np.zeros(2)
    notes = 0
    for name, case in instrument.divisions.items():
        seasons(case)
        clock, processor = time.perf_counter(), time.process_time()
        found = seasons(case)
        took = np.array([time.perf_counter() - clock, time.process_time() - processor])
        rests = sum(len(one.tightness.stretch) for one in found.notes.values() if one.tightness)
        sounding = sum(one.cipher >= 0 for one in found.notes.values())
        total += took
        notes += len(found.notes)
        print(
            f"{name:8} {len(found.notes):3} notes x {len(found.year)} instants: {took[0]:5.2f} s, processor "
            f"{took[1]:5.2f} s; {rests} resting states; {sounding} notes sound unplayed"
        )
    print(f"all      {notes:3} notes: {total[0]:5.2f} s, processor {total[1]:5.2f} s")


if __name__ == "__main__":
    main()
