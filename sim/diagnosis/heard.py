"""What a sheet says of the speech of notes, told where no fault that is told goes with it."""

from __future__ import annotations

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.models.notes import note_name
from keyaction.models.readings.figures import NAMES
from keyaction.sim.diagnosis.curves import CODE
from keyaction.sim.diagnosis.found import Diagnosis, NoteFound
from keyaction.sim.diagnosis.words import figure, listed, percent

SPOKEN = {code: word for word, code in CODE.items()}
"""The words of a sheet by their codes."""
_DOES = {"weak": "speaks weakly", "mute": "is mute"}
_ORDINARY = 3.0
"""Standard deviations within which a figure is ordinary."""
_CAUSES = 3
"""Causes that are named for a word alone."""


def does(code: int) -> str:
    """What a note does, as a verb."""
    word = SPOKEN[code]
    return _DOES.get(word, word)


def heard_told(found: Diagnosis, case: Case) -> list[str]:
    """A sentence for every note that the sheet has do otherwise than drawn, and that is not told as faulty."""
    return [heard(one, note_name(one.note, case.naming)) for one in found.told if one.otherwise and not one.faulty]


def heard(one: NoteFound, name: str) -> str:
    """What the sheet says of the speech of one note, against its figures."""
    if not one.freedom:
        likely = one.causes[:_CAUSES]
        whole = sum(cause.probability for cause in one.causes)
        named = ", ".join(f"{c.faults[0].hypothesis.said()} ({percent(c.probability / whole)})" for c in likely)
        told = f" If a fault makes it, the likeliest are: {named}." if named else ""
        return f"{name} {does(one.heard)}; no figures were read, so what makes it is not known.{told} Measure the note."
    share = np.abs(one.share)
    names = [figure(name) for k, name in enumerate(NAMES) if share[k] < _ORDINARY]
    told = f"{listed(names)} {'is' if len(names) == 1 else 'are'} ordinary" if names else "no figure is ordinary"
    return (
        f"{name} {does(one.heard)}, the sheet says, but {told}, as of a note that {does(one.speaks)}: the word and the "
        "figures hardly go together; listen again, and measure again."
    )
