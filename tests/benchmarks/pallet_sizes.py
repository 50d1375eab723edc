"""Sizes of pallets: presses a note and time, from the lightest question to the heaviest: run by hand.

``python tests/benchmarks/pallet_sizes.py`` sizes the shipped manual of 56 notes on one thread. Times are of the
processor, of one run; the first warms what is compiled.
"""

from __future__ import annotations

import time
from collections import Counter

from keyaction.cases.action.reader import read_case
from keyaction.sim.sizes.sizes import smallest_pallets

QUESTIONS = {
    "eye kept": {"keep_eye": True},
    "as drawn": {},
    "all stops": {"stops": "all"},
    "all stops, 99 %": {"stops": "all", "share": 0.99},
    "a chord of ten behind a trunk": {"stops": "all", "chord": "C2,G2,C3,E3,G3,C4,E4,G4,C5,E5"},
}
SUPPLY = {"box.volume": "80 L", "box.trunk.area": "60 cm^2", "box.trunk.length": "1 m"}


def main() -> None:
    """Print a line for each question."""
    case = read_case("demo-wood", set_=SUPPLY)
    smallest_pallets(case, "C4", jobs=1)
    for name, asked in QUESTIONS.items():
        start = time.process_time()
        found = smallest_pallets(case, jobs=1, **asked)
        took = time.process_time() - start
        presses = sum(one.presses for one in found)
        limits = Counter(one.limit or "none" for one in found)
        missed = sum(one.smallest is not None and one.share_of(one.smallest, chord=True) < one.wanted for one in found)
        worst = max(abs(one.smallest.share - one.share_of_box(one.smallest)) for one in found if one.smallest)
        told = ", ".join(f"{limit} {count}" for limit, count in limits.items())
        print(
            f"{name:30} {took:5.2f} s, {presses / len(found):.2f} presses a note, ends at: {told}; missed {missed}; "
            f"press against closed form {worst:.1e}"
        )


if __name__ == "__main__":
    main()
