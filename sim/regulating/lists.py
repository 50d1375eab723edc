"""Every list of notes whole."""

from __future__ import annotations

import numpy as np

from keyaction.models.readings.figures import BY_NAME
from keyaction.sim.regulating.judged import KEPT
from keyaction.sim.regulating.read_off import read_off
from keyaction.sim.regulating.regulate import Regulation
from keyaction.sim.regulating.told_notes import SENT
from keyaction.sim.regulating.words import LISTS, Named
from keyaction.sim.tables.sheet import Cell, Column, Sheet


def lists_sheet(one: Regulation, name: Named) -> Sheet:
    """Every list of notes whole, of which sentences have the first names."""
    off, outside = read_off(one), one.outside(one.after.values)
    found = dict[str, list[str]]()
    for figure in KEPT:
        heading = BY_NAME[figure].heading
        found[f"read outside: {heading}"] = [name(note) for note, own in off.items() if figure in own]
        still = np.flatnonzero(outside[:, KEPT.index(figure)] & one.table.work)
        found[f"still outside afterwards: {heading}"] = [name(one.notes[i]) for i in still]
    unsound = [i for i in np.flatnonzero(one.table.work) if not one.after.verdicts[i].sound]
    found["does not speak as it is to afterwards"] = [name(one.notes[i]) for i in unsound]
    for move in one.steps.moves:
        found.setdefault(f"{move.stage}: {move.kind}", []).append(name(move.note))
    if one.datum:
        found["levels count from another line than the straightedge's"] = [name(note) for note in one.notes]
    for cause in one.causes:
        found.setdefault(f"{SENT[cause.sent]}: {cause.said}", []).append(name(cause.note))
    found["nothing was read"] = [name(note) for note in one.unread]
    rows: list[list[Cell]] = [[what, len(own), ", ".join(own)] for what, own in found.items() if own]
    return Sheet(LISTS, "All notes of every list", [Column("what", text=True), Column("notes", "", 0),
                                                   Column("which", text=True)], rows)  # fmt: skip
