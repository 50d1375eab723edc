"""What was read outside what is kept, by note and in words."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.regulating.fewest import Flags
from keyaction.sim.regulating.judged import KEPT, limits
from keyaction.sim.regulating.regulate import Regulation
from keyaction.sim.regulating.words import Named, Said, names


def moved(one: Regulation) -> Flags:
    """Notes at which a nut is turned, or a felt or washer laid in."""
    return np.array([any(move.kind != "spring" for move in one.steps.of(note)) for note in one.notes], dtype=bool)


def lengths_off(one: Regulation, figures: Floats) -> Flags:
    return one.outside(figures)[:, [KEPT.index(figure) for figure in ("level", "dip", "play")]]


def read_off(one: Regulation) -> dict[int, list[str]]:
    """Figures of `KEPT` that were read outside what is kept, by note, eased to the pressure that is wanted."""
    # A share that all are off together is named by itself; the figure is outside all the same.
    off = limits(one.table).off(one.state.read + one.before - one.state.figures) > 0.0
    return {note: [KEPT[k] for k in np.flatnonzero(off[i])] for i, note in enumerate(one.notes) if off[i].any()}


def read_words(one: Regulation, off: Mapping[int, list[str]], name: Named, said: Said) -> str:
    """What was read outside, figure by figure; of plucks how far."""
    parts = []
    for figure in KEPT:
        notes = [note for note, own in off.items() if figure in own]
        if not notes:
            continue
        than = f" (by more than {100 * one.aims.even:.0f}\u00a0% of drawn)" if figure == "pluck" else ""
        at = [
            f"{name(n)} {said(float(one.state.read[one.notes.index(n), NAMES.index(figure)]), BY_NAME[figure].unit)}"
            for n in notes
        ]
        parts.append(f"{BY_NAME[figure].heading}{than}: {names(at)}")
    return f"Read outside its tolerance: {'; '.join(parts)}."
