"""The plays as a CSV file that the couplers' tables of the instrument can take them from."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping

from keyaction.cases.instrument.coupler import slug
from keyaction.models.notes import note_name
from keyaction.sim.coupling.order import stated_play
from keyaction.sim.coupling.tune import Regulated

MM = 1e3
_PLACES = 6


def plays_files(regulated: Regulated) -> dict[str, str]:
    """File names with their texts: one for each played division, a column (mm) for each coupler that was set.

    Notes that were not set have the play that the instrument gives them, for such a file needs every note.
    """
    texts = {}
    for division, names in _of_divisions(regulated).items():
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(["note", *(column(name) for name in names)])
        for note in regulated.instrument.divisions[division].compass:
            shown = [_shown(_play(regulated, name, note)) for name in names]
            writer.writerow([note_name(note, regulated.instrument.naming), *shown])
        texts[file_name(division)] = out.getvalue()
    return texts


def file_name(division: str) -> str:
    """The file of a division's plays."""
    return f"plays-{slug(division)}.csv"


def column(coupler: str) -> str:
    """The heading of a coupler's plays."""
    return f"{coupler} (mm)"


def entries(regulated: Regulated, folder: str) -> Mapping[str, str]:
    """The line for each coupler's table that takes its plays from the file, beside the instrument in this folder."""
    return {
        name: f'play = {{ csv = "{folder}{file_name(division)}", column = "{column(name)}", unit = "mm" }}'
        for division, names in _of_divisions(regulated).items()
        for name in names
    }


def _of_divisions(regulated: Regulated) -> dict[str, list[str]]:
    """The couplers that were set, by the division that is played."""
    found: dict[str, list[str]] = {}
    for name in regulated.order:
        if any(one.name == name for one in regulated.found):
            found.setdefault(regulated.instrument.couplers[name].played, []).append(name)
    return found


def _play(regulated: Regulated, name: str, note: int) -> float:
    found = regulated.plays[name].get(note)
    return stated_play(regulated.instrument.couplers[name], note) if found is None else found


def _shown(play: float) -> str:
    """mm to a nanometre, without needless zeros."""
    return f"{round(play * MM, _PLACES):.{_PLACES}f}".rstrip("0").rstrip(".") if math.isfinite(play) else ""
