"""The shipped study `quick` (896 designs, all quantities) on two cores, cold and warm, and reading what it found.

Run by hand: python tests/benchmarks/quick.py
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path


def seconds(folder, environment, *words):
    begun = time.perf_counter()
    done = [sys.executable, "-m", "keyaction", *words]
    subprocess.run(done, env=environment, cwd=folder, check=True, capture_output=True)
    return time.perf_counter() - begun


def main():
    with tempfile.TemporaryDirectory() as folder:
        environment = {**os.environ, "KEYACTION_CACHE": str(Path(folder) / "cache")}
        cold, warm = (seconds(folder, environment, "sweep", "quick", "--out", name) for name in ("cold", "warm"))
        shown = seconds(folder, environment, "sweep", "show", "warm")
        print(f"study quick: cold {cold:.1f} s, warm {warm:.1f} s; show {shown:.2f} s")


if __name__ == "__main__":
    main()
