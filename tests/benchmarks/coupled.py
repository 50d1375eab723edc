"""What coupling costs: a manual of 56 notes with all couplers on against the same alone; by hand.

python tests/benchmarks/coupled.py
"""

from __future__ import annotations

import time

import keyaction as ka


def timed(coupled: str | None, jobs: int) -> tuple[float, float]:
    """Seconds for the manual below, its code warm, and evaluations of its standard strokes a note."""
    instrument = ka.read_instrument("demo-instrument")
    ka.run(instrument, {"behind": "C2:G6:7"}, jobs=jobs, coupled=coupled)  # every structure of it, for the cache
    start = time.perf_counter()
    result = ka.run(instrument, {"behind": "C2:G6"}, jobs=jobs, coupled=coupled)["behind"]
    spent = time.perf_counter() - start
    assert set(result["status"]) == {"ok"}, set(result["status"])
    return spent, spent / len(result["note"])


if __name__ == "__main__":
    alone, each = timed(None, 2)
    print(f"alone: {alone:.1f} s, {1e3 * each:.0f} ms a note")
    for coupled in ("II/I", "all-on"):
        spent, each = timed(coupled, 2)
        print(f"{coupled}: {spent:.1f} s, {1e3 * each:.0f} ms a note, {spent / alone:.2f} times")
