"""Sheets as they would come back from trains that are known: what is computed, with the errors of the tools.

For tests, trials of a method, and demonstrations; such a sheet says that it is invented.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.readings.readings import Head, Reading, Readings
from keyaction.models.train.train import Train
from keyaction.sim.measuring.computed import Computed, computed
from keyaction.sim.motion.integrate import Floats

INVENTED = "invented: computed, with errors drawn at random"


def synthetic(
    trains: Mapping[int, Train],
    level: Floats,
    strokes: Strokes,
    seed: int | np.random.Generator,
    head: Head | None = None,
    figures: Sequence[str] = NAMES,
) -> Readings:
    """A sheet of trains by note.

    Parameters
    ----------
    trains : mapping of int to Train
        As they are found: with what is wrong about them.
    level : (n,) array
        Of each as it is drawn, from which its level is read (`keyaction.sim.measuring.computed.drawn_levels`), m.
    strokes : Strokes
    seed : int or Generator
        Of the errors.
    head : Head, optional
        Its `ruler` and `balance` are the standard deviations of the errors.
    figures : sequence of str
        What is read.
    """
    found = computed(list(trains.values()), strokes).from_level(level)
    return read_off(list(trains), found, seed, head, figures)


def read_off(
    notes: Sequence[int],
    found: Computed,
    seed: int | np.random.Generator,
    head: Head | None = None,
    figures: Sequence[str] = NAMES,
) -> Readings:
    """The same of figures that are known already, their levels counted from the drawing."""
    head, random = head or Head(), np.random.default_rng(seed)
    rows = []
    for i, note in enumerate(notes):
        for figure in figures:
            value = float(found.values[i, NAMES.index(figure)])
            error = float(random.normal(0.0, head.error(figure)))
            if np.isfinite(value):
                about = BY_NAME[figure]
                rows.append(Reading(note, figure, float(np.clip(value + error, about.low, about.high))))
    speech = {note: word for note, word in zip(notes, found.speech, strict=True) if word}
    return Readings(replace(head, remark=head.remark or INVENTED), tuple(rows), speech)
