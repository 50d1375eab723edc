"""Regulating the couplers of the shipped instrument, warm: seconds and slow presses a note, coupler by coupler.

Run by hand: python tests/benchmarks/couplers.py [NOTES]
"""

from __future__ import annotations

import sys
import time

import keyaction as ka
from keyaction.sim.coupling.regulate import SetCoupler


def main(notes: str) -> None:
    instrument = ka.read_instrument("demo-instrument")
    ka.tune_couplers(instrument, "all-on", "C4", jobs=1)  # compiles what is not compiled yet
    done: dict[str, list[tuple[float, int]]] = {}
    last = time.perf_counter()

    def told(one: SetCoupler) -> None:
        nonlocal last
        now = time.perf_counter()
        done.setdefault(one.name, []).append((now - last, one.presses))
        last = now

    start = last
    ka.tune_couplers(instrument, "all-on", notes, jobs=1, progress=told)
    whole = time.perf_counter() - start
    for name, of in done.items():
        seconds, presses = (sum(column) / len(of) for column in zip(*of, strict=True))
        print(f"{name}: {len(of)} notes, {seconds:.2f} s and {presses:.0f} slow presses a note")
    print(f"with the look at what the pallets lift: {whole:.1f} s, one process")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "C2:C6:12")
