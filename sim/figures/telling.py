"""A verdict told in sentences, and why a note of such a verdict lacks figures."""

from __future__ import annotations

import math

from keyaction.sim.figures.columns import OVER_COMPASS, QUANTITIES
from keyaction.sim.figures.verdict import UNASKED, Fate, Verdict

_SENTENCES = {
    Fate.NO_WIND: "There is no wind",
    Fate.UNKNOWN: "What becomes of the note is not known",
}
"""Sentences of the verdicts that do not go on from "The note"."""
_BECAUSE = {
    Fate.NO_WIND: "there is no wind",
    Fate.CIPHER: "the note sounds unplayed",
}
"""What is said of the verdicts in a clause that does not go on from "the note"."""
_OWN = {
    "friction_at_key": "the key does not come up through it by itself",
    "side_way": "no rod has side_motion = true",
    "slaps": "nothing stands beside a rod with side motion",
    "slap_speed": "nothing stands beside a rod with side motion",
}
"""Why a note that plucks lacks a figure all the same."""
SILENT = (Fate.NO_WIND, Fate.MUTE, Fate.CIPHER)
"""Verdicts of notes that no spring makes speak: what stands in the way is elsewhere."""


def sentence(told: Verdict) -> str:
    """A verdict as a sentence, with its full stop."""
    begun = _SENTENCES.get(told.fate, f"The note {told.fate.value}")
    return f"{begun}: {told.reason}." if told.reason else f"{begun}."


def read_verdict(text: str) -> Verdict:
    """A verdict as a result file has it; one that is not known where it is none."""
    kind, _, reason = text.partition(": ")
    found = next((fate for fate in Fate if fate.value == kind), None)
    return Verdict(found, reason) if found else UNASKED


def why_none(name: str, value: float, told: Verdict) -> str:
    """Why a note does not have a figure, in a clause; empty where it has, or where its verdict says nothing of it."""
    if math.isfinite(value):
        return ""
    if name in OVER_COMPASS:
        return "this note or the one below has no pluck, or is not played"
    if name not in QUANTITIES:
        return ""
    if told.fate in QUANTITIES[name].without or told.fate in (*SILENT, Fate.WEAK):
        return _BECAUSE.get(told.fate, f"the note {told.fate.value}")
    return _OWN.get(name, "") if told.fate is not Fate.UNKNOWN else ""
