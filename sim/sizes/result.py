"""Sizes of pallets as a result over notes, which pictures and scripts read."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.models.notes import note_name
from keyaction.sim.files.labelled import Result, Variable
from keyaction.sim.motion.integrate import Tolerances
from keyaction.sim.run.about import about
from keyaction.sim.sizes.sized import Sized


def sizes_result(case: Case, found: Sequence[Sized]) -> Result:
    """The sizes of a case's notes as labelled arrays.

    Parameters
    ----------
    case : Case
    found : sequence of Sized
        Of `smallest_pallets`; rising.

    Returns
    -------
    Result
        Over ``note``: lengths of the opening (m) ``opening_drawn``, ``opening_smallest``, ``opening_custom``; pluck
        forces (N) ``pluck_drawn``, ``pluck_smallest``, ``pluck_kept``; ``share_drawn`` and ``share_smallest`` with the
        chord on; NaN where a note has none.
    """
    notes = sorted(found, key=lambda one: one.note)
    variables = {
        "note": _texts([note_name(one.note, case.naming) for one in notes]),
        "semitone": Variable(("note",), np.array([one.note for one in notes], dtype=np.int64)),
        "status": _texts(["ok"] * len(notes)),
        "verdict": _texts([str(one.drawn.verdict) for one in notes]),
    }
    for name, unit, label, read in _FIGURES:
        values = np.array([read(one) for one in notes], dtype=np.float64)
        variables[name] = Variable(("note",), values, unit, label)
    return Result(variables, about(case, Tolerances()))


def _texts(words: Sequence[str]) -> Variable:
    return Variable(("note",), np.array(words, dtype=object))


def _smallest(what: str) -> Callable[[Sized], float]:
    return lambda one: float("nan") if one.smallest is None else float(getattr(one.smallest, what))


_FIGURES: tuple[tuple[str, str, str, Callable[[Sized], float]], ...] = (
    ("opening_drawn", "m", "as drawn", lambda one: one.drawn.length),
    ("opening_smallest", "m", "smallest that feeds", _smallest("length")),
    ("opening_custom", "m", "by custom", lambda one: one.custom),
    ("pluck_drawn", "N", "as drawn", lambda one: one.drawn.pluck),
    ("pluck_smallest", "N", "smallest that feeds", _smallest("pluck")),
    ("pluck_kept", "N", "eye kept in its place", lambda one: float("nan") if one.kept is None else one.kept.pluck),
    ("share_drawn", "", "as drawn", lambda one: one.share_of(one.drawn, chord=True)),
    ("share_smallest", "", "smallest that feeds", lambda one: one.share_of(one.smallest, chord=True)),
)
