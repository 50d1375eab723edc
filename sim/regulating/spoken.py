"""What the words of a sheet say of notes that do not play: they cipher, hang or are mute, or their figures deny it."""

from __future__ import annotations

import numpy as np

from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.readings.readings import Readings
from keyaction.sim.measuring.knobs import KINDS
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.regulating.cause import Cause, joined
from keyaction.sim.regulating.state import State

TIGHT = 0.1e-3
"""m of play below which the up-weight says little: the pallet hardly seats, and the readings of it bend."""
_ORDINARY = 3.0
"""Standard deviations within which a figure is ordinary."""
_EVEN = 0.1
"""Share by which a weight at a regulated note may differ from its drawing besides."""
_DENY = {"ciphers": ("pluck",), "mute": ("point", "lift", "pluck"), "hangs": ("up",)}
"""By word, figures that are not ordinary at a note that does so."""
_SAYS = {"ciphers": "it ciphers", "mute": "it is mute", "hangs": "it hangs"}
_TOLD = {
    "ciphers": ("unhook", "it sounds unplayed: run too tight, or the pallet does not shut"),
    "hangs": ("diagnose", "its key stays down: friction, a weak spring, or something in the way"),
}


def spoken(state: State, readings: Readings) -> list[Cause]:
    """Notes that cipher or hang, whose readings say nothing of a note that plays, and words that figures deny.

    Parameters
    ----------
    state : State
    readings : Readings
    """
    read, error = (table(NAMES, state.bench.notes) for table in (readings.values, readings.errors))
    play = NAMES.index("play")
    ample = read[:, play] > np.maximum(TIGHT, 2.0 * error[:, play])
    found = list[Cause]()
    for i, word in enumerate(state.speech):
        note = state.bench.notes[i]
        if denied := _denied(word, read[i], error[i], state.bench.drawn.values[i]):
            found.append(Cause(note, "recheck", "word", np.nan, denied, "measure", True))
        elif word == "ciphers" and ample[i]:
            loose = "it sounds unplayed though its key has play: not the nut; the pallet does not shut, or leaks"
            found.append(Cause(note, "pallets seat", "open", np.nan, loose, "diagnose", True))
        elif word in _TOLD:
            sent, said = _TOLD[word]
            found.append(Cause(note, "pallets seat", word, np.nan, said, sent, True))  # type: ignore[arg-type]
    return found


def _denied(word: str, read: Floats, error: Floats, drawn: Floats) -> str:
    """What is said of a word that a note's figures deny; empty where none does."""
    ordinary = [name for name in _DENY.get(word, ()) if _is_ordinary(name, read, error, drawn)]
    if not ordinary:
        return ""
    names = [BY_NAME[name].said for name in ordinary]
    also = "; if it sounds all the same, its pallet does not quite shut" if word == "ciphers" else ""
    return (
        f"the sheet says {_SAYS[word]}, but its {joined(names)} {'is' if len(names) == 1 else 'are'} ordinary: the "
        f"word and the figures hardly go together; listen again, and measure again{also}"
    )


def _is_ordinary(name: str, read: Floats, error: Floats, drawn: Floats) -> bool:
    k = NAMES.index(name)
    own = KINDS["rest"].good if BY_NAME[name].unit == "m" else _EVEN * drawn[k]
    return bool(abs(read[k] - drawn[k]) < _ORDINARY * np.hypot(error[k], own / _ORDINARY) and drawn[k] > 0.0)
