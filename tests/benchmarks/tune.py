"""Tuning the 56 notes of the demo, warm: a target that all reach, one that half of them do not, and an even manual.

Run by hand: python tests/benchmarks/tune.py
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time

TARGETS = ("C2=200 gf, C4=150 gf, G6=95 gf", "120 gf", "even within 1 %")


def tune(folder, number, pluck):
    """Seconds of the whole command, and its exit status."""
    start = time.perf_counter()
    arguments = ["tune", "demo-wood", "--pluck", pluck, "--out", f"tuned{number}.toml", "--csv", f"tuned{number}.csv"]
    done = subprocess.run(
        [sys.executable, "-m", "keyaction", *arguments, "--force"], cwd=folder, capture_output=True, check=False
    )
    return time.perf_counter() - start, done.returncode


def main():
    with tempfile.TemporaryDirectory() as folder:
        tune(folder, 0, TARGETS[0])  # compiles what is not compiled yet
        for number, pluck in enumerate(TARGETS):
            seconds, status = tune(folder, number, pluck)
            told = "all met" if status == 0 else "some infeasible" if status == 1 else f"failed ({status})"
            print(f"56 notes, pluck {pluck!r}: {seconds:.1f} s, {told}")


if __name__ == "__main__":
    main()
