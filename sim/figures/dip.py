"""The key's dip as the case writes it, beside the dip that is read under load."""

from __future__ import annotations

import json

import numpy as np
from numpy.typing import NDArray

from keyaction.models.units.quantity import format_value
from keyaction.sim.files.labelled import Result

AS_WRITTEN = "dip as written"
"""What the travel to the untouched bottom felt is called everywhere."""

_UNDER_LOAD = "dip under load"


def written_dip(result: Result) -> NDArray[np.float64]:
    """Travel at which the key meets its bottom felt, as the case has it, at every note, m; NaN where it is not told."""
    if "figure_role" not in result:
        return np.full(len(result.notes), np.nan)
    found = np.flatnonzero((result["figure_role"] == "key") & (result["figure_what"] == "dip"))
    return np.asarray(result["figures"][:, found[0]] if len(found) else np.full(len(result.notes), np.nan), dtype=float)


def pressed_words(result: Result) -> str:
    """What the dip under load is called, with the force of the case's strokes in newtons: "dip at 5 N"."""
    force = json.loads(result.about.get("strokes", "{}")).get("dip_force")
    if force is None:
        return _UNDER_LOAD
    return f"dip at {format_value(float(force), 'N', 'si')}"


def pressed_heading(result: Result) -> str:
    """The same as the heading of a column."""
    return pressed_words(result).replace(" at ", "\nat ", 1)


def is_pressed(words: str) -> bool:
    """Whether words are what the dip under load is called, under whatever force."""
    return words == _UNDER_LOAD or words.startswith("dip at ")
