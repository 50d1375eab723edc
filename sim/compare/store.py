"""A comparison's folder: its figures as one file, its sheets as CSV, its pictures."""

from __future__ import annotations

from pathlib import Path

from keyaction.sim.files.hdf5 import load
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.problem import Unreadable

FIGURES = "compare.h5"
"""The file with everything; the other files follow from it."""


def load_comparison(folder: Path) -> Result:
    """Read a comparison from its folder.

    Raises
    ------
    Unreadable
        When there is none, or its file is something else.
    """
    path = folder / FIGURES
    if not path.is_file():
        raise Unreadable(
            f"{folder}: no comparison is here; make one with: keyaction compare CASE --rod A,B --out {folder}"
        )
    result = load(path)
    if not is_comparison(result):
        raise Unreadable(f"{path}: is no comparison, but another result of this program")
    return result


def is_comparison(result: Result) -> bool:
    """Whether a result is a comparison."""
    return "variant" in result and "curve_note" in result and "compared" in result.about
