"""How soon the light commands answer, with their files in the system's cache, and which heavy libraries they load.

Run by hand on an idle machine: python tests/benchmarks/start.py
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))

from loaded import loaded_by

RUNS = 9


def seconds(folder: str, *arguments: str) -> float:
    """Median time of a command, each time in a new process, after two that fill the caches."""
    words, taken = [sys.executable, "-m", "keyaction", *arguments], []
    for _ in range(RUNS + 2):
        begun = time.perf_counter()
        subprocess.run(words, cwd=folder, check=True, capture_output=True)
        taken.append(time.perf_counter() - begun)
    return statistics.median(taken[2:])


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        os.environ.setdefault("KEYACTION_CACHE", str(Path(folder) / "cache"))
        play = ["run", "demo-wood", "--notes", "C4", "--jobs", "1", "--out", "c4.h5"]
        subprocess.run([sys.executable, "-m", "keyaction", *play], cwd=folder, check=True, capture_output=True)
        for arguments in (["--version"], ["--help"], ["show", "c4.h5"], ["check", "demo-wood"]):
            heavy = ", ".join(sorted(loaded_by(*arguments, cwd=Path(folder)))) or "nothing heavy"
            print(f"keyaction {' '.join(arguments):18} {seconds(folder, *arguments):.2f} s; loads {heavy}")


if __name__ == "__main__":
    main()
