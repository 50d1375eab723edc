"""The whole demo manual, every figure and curve, cold cache, on two cores; and one note warm.

Run by hand: python tests/benchmarks/manual.py
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path


def run(folder, environment, *options):
    start = time.perf_counter()
    subprocess.run(
        [sys.executable, "-m", "keyaction", "run", "demo-wood", "--jobs", "2", *options],
        env=environment,
        cwd=folder,
        check=True,
        capture_output=True,
    )
    return time.perf_counter() - start


def main():
    with tempfile.TemporaryDirectory() as folder:
        environment = {**os.environ, "KEYACTION_CACHE": str(Path(folder) / "cache")}
        cold = run(folder, environment, "--out", "whole.h5")
        size = (Path(folder) / "whole.h5").stat().st_size
        warm = run(folder, environment, "--out", "whole2.h5")
        one = run(folder, environment, "--notes", "C4", "--out", "c4.h5")
        print(f"56 notes cold {cold:.1f} s, warm {warm:.1f} s, file {size / 1e6:.1f} MB; C4 alone, warm {one:.1f} s")


if __name__ == "__main__":
    main()
