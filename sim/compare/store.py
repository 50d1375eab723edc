"""A comparison's folder: its figures as one file, its sheets as CSV, its pictures."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from keyaction.sim.compare.trackers import OF_TRACKERS
from keyaction.sim.figures.columns import QUANTITIES, forces_felt
from keyaction.sim.files.hdf5 import load
from keyaction.sim.files.instrument_result import InstrumentResult
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.problem import Unreadable
from keyaction.sim.run.shape import is_unit

_BOTH = ("variant", "note")
_HOLDS = {
    "variant": (("variant",), "O"),
    "letter": (("variant",), "O"),
    "curve_note": (("variant",), "O"),
    "note": (("note",), "O"),
    "semitone": (("note",), "iu"),
    "status": (_BOTH, "O"),
    "give": (("give",), "O"),
    "give_part": (("give",), "O"),
    "part": (("part",), "O"),
    "compliance_budget": ((*_BOTH, "give"), "f"),
    "mass_budget": ((*_BOTH, "part"), "f"),
    "pluck_force": (_BOTH, "f"),
}
_TEXTS: dict[str, Callable[[Any], bool]] = {
    "checks": lambda found: isinstance(found, list),
    "curve_status": lambda found: isinstance(found, list),
    "seasons": lambda found: isinstance(found, dict) and {"winter", "summer"} <= set(found),
}
_CASE = ("case_text", "case_files")
"""Texts by which a case is known again."""
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
    if isinstance(result, InstrumentResult) or "variant" not in result or "compared" not in result.about:
        raise Unreadable(f"{path}: is no comparison, but another result of this program")
    if wrong := next(_wrong(result), ""):
        raise Unreadable(f"{path}: is no whole comparison ({wrong}); make it anew with keyaction compare")
    return result


def _wrong(result: Result) -> Iterator[str]:
    """What is amiss with the variables and texts, one after the other."""
    if not result.variables["variant"].data.size:
        yield "it holds no variant"
    both = [name for name in (*QUANTITIES, *OF_TRACKERS) if name in result]
    apart = [f"{name}_apart" for name in forces_felt()]
    for name, (dims, kind) in {**_HOLDS, **dict.fromkeys((*both, *apart), (_BOTH, "f"))}.items():
        one = result.variables.get(name)
        if one is None or one.dims != dims or one.data.dtype.kind not in kind:
            yield f"'{name}' is missing, or not over {', '.join(dims)}"
        elif not is_unit(one.unit):
            yield f"'{name}' is in '{one.unit}', which is no unit"
    for name, read in _TEXTS.items():
        try:
            right = read(json.loads(result.about[name]))
        except (KeyError, ValueError, RecursionError):
            right = False
        if not right:
            yield f"'{name}' cannot be read"


def another_case(result: Result, comparison: Result) -> str:
    """What to say where a comparison is not of the case that a result is of; empty where it is."""
    one, other = ([each.about.get(name) for name in _CASE] for each in (result, comparison))
    if one == other:
        return ""
    names = [each.about.get("case_name", "a case without a name") for each in (result, comparison)]
    how = "another case" if names[0] != names[1] else "another state of the case"
    return f"what was compared is {how}: {names[1]} '{comparison.title}', where the figures are of {names[0]}"
