"""Which heavy libraries a command loads, asked of a process of its own."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

HEAVY = {
    "sympy": {"sympy"},
    "scipy": {"scipy"},
    "numba": {"numba"},
    "matplotlib": {"matplotlib"},
    "h5py": {"h5py"},
}
"""Library to the modules that show it to be loaded."""

ASK = """
import sys
from keyaction.sim.cli import main
try:
    status = main(sys.argv[1:])
except SystemExit as ended:
    status = ended.code or 0
print(" ".join(sys.modules), file=sys.stderr)
sys.exit(status)
"""


def libraries(modules: set[str]) -> set[str]:
    """Those of the heavy libraries that are among the modules of a process."""
    return {name for name, signs in HEAVY.items() if signs & modules}


def loaded_by(*arguments: object, cwd: Path | None = None) -> set[str]:
    """The heavy libraries that are loaded when a command has ended well."""
    words = [sys.executable, "-c", ASK, *map(str, arguments)]
    done = subprocess.run(words, capture_output=True, text=True, cwd=cwd)
    assert done.returncode == 0, done.stderr
    return libraries(set(done.stderr.split()))
