"""Lift and groove of every pallet of a note in its standard stroke."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import takewhile

import numpy as np

from keyaction.plots.style import reading
from keyaction.plots.style.page import Floats
from keyaction.sim.figures.pallets import has_pallets, pallets_of
from keyaction.sim.files.labelled import Result


@dataclass(frozen=True)
class PalletCourse:
    """One pallet of a note.

    Attributes
    ----------
    name, label : str
        The part, and what people call it.
    lift : (t,) array
        Above its seat at its eye, m.
    share : (t,) array
        Pressure in its groove over that of its box.
    """

    name: str
    label: str
    lift: Floats
    share: Floats


def several_pallets(result: Result, row: int) -> list[PalletCourse]:
    """The pallets of a note that opens several, the played division's first; none of any other."""
    if not has_pallets(result) or "pallets_course" not in result or len(found := pallets_of(result, row)) < 2:
        return []
    return [_course(result, row, one.place, one.name, one.label) for one in found]


def _course(result: Result, row: int, place: int, name: str, label: str) -> PalletCourse:
    lift, pressure = (np.asarray(result[f"pallets_{what}"][row, place], dtype=float) for what in ("course", "pressure"))
    box = box_pressure(result, row, name)
    return PalletCourse(name, label, lift, pressure / (box if box > 0 else math.nan))


def box_pressure(result: Result, row: int, pallet: str) -> float:
    """Pressure of the box that a pallet stands in, Pa; NaN where the result does not tell.

    Parts of a driven division begin alike, so the box is the one that shares most of the pallet's name.
    """
    if "figure_role" not in result:
        return math.nan
    boxes = np.flatnonzero((result["figure_role"] == "box") & (result["figure_what"] == "p_box"))
    there = [int(i) for i in boxes if np.isfinite(result["figures"][row, i])]
    best = max(there, key=lambda i: _alike(str(result["figure_part"][i]), pallet), default=None)
    return math.nan if best is None else float(result["figures"][row, best])


def _alike(one: str, other: str) -> int:
    """Words at the beginning that two names of parts share."""
    pairs = zip(one.split("-"), other.split("-"), strict=False)
    return len(list(takewhile(lambda pair: pair[0] == pair[1], pairs)))


def own_pallet(result: Result) -> str:
    """The played division's pallet."""
    return str(result["pallet"][0]) if has_pallets(result) else reading.parts(result)[-1]
