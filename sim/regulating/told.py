"""What is found and what is to be done, in sentences: the answer first, then stage after stage."""

from __future__ import annotations

from collections import Counter

import numpy as np

from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.units.quantity import System
from keyaction.sim.regulating.judged import KEPT
from keyaction.sim.regulating.read_off import lengths_off, moved, read_off, read_words
from keyaction.sim.regulating.regulate import Regulation
from keyaction.sim.regulating.told_common import alike, even, frame, line
from keyaction.sim.regulating.told_kept import drawing, ruler
from keyaction.sim.regulating.told_notes import left, not_read, sent, unheard
from keyaction.sim.regulating.words import Named, Said, names, said_in, seen_in


def told(one: Regulation, name: Named, units: System = "trade") -> list[str]:
    """The answer in sentences: how much is to be done, and what comes of it.

    Parameters
    ----------
    one : Regulation
    name : callable
        Names a note.
    units : {"trade", "si"}
    """
    said, seen = said_in(units), seen_in(units)
    lines = [
        _of_all(one),
        _answer(one, name, seen),
        line(one, seen),
        frame(one),
        _after(one, name),
        even(one, name, said),
    ]
    lines += [_outside(one, name, seen), alike(one, seen)]
    lines += [left(one, name), ruler(one, said), *sent(one, name, seen), *unheard(one, name, seen)]
    lines += [not_read(one, name), drawing(one, name, seen)]
    return [each for each in lines if each]


def _of_all(one: Regulation) -> str:
    """That more notes were read than are asked for, and what they do."""
    more = len(one.fitted) - len(one.notes)
    if more <= 0:
        return ""
    return (
        f"All {len(one.fitted)} notes that were measured say how even the action stands and what is common to all; "
        f"told and set {'is the one' if len(one.notes) == 1 else f'are the {len(one.notes)}'} asked for."
    )


def _answer(one: Regulation, name: Named, said: Said) -> str:
    commons, moves = one.steps.commons, one.steps.moves
    if not commons and not moves:
        off = read_off(one)
        if one.datum and not off:
            return "Nothing to turn before the line that levels were read from is checked."
        if off:
            return f"Nothing to turn, though not all is as it is to be. {read_words(one, off, name, said)}"
        if not np.any(np.isfinite(one.state.read)):
            return "Nothing to turn: no figure was read that can be believed."
        if np.any(one.outside(one.after.values)[one.table.work]):
            return "Nothing to turn by what was read, though not all is as it is to be."
        if one.wind.measure:
            return "Nothing to turn: no length that was read is outside its tolerance; weights wait for the pressure."
        rest = ", but for what is named below" if one.causes or "mute" in one.state.speech else ""
        return f"Nothing to turn: no figure that was read is outside its tolerance{rest}."
    touched = len({move.note for move in moves})
    kinds = Counter(move.kind for move in moves)
    words = {"spring": "spring", "rest": "key rest", "bottom": "dip washer", "nut": "nut"}
    parts = [f"{kinds[kind]} {word}{'s' * (kinds[kind] > 1)}" for kind, word in words.items() if kinds[kind]]
    shared = f"{len(commons)} step{'s' * (len(commons) > 1)} for all notes at once" if commons else ""
    single = f"{', '.join(parts)} at {touched} of {len(one.notes)} notes" if parts else ""
    return f"To do: {', then '.join(part for part in (shared, single) if part)}."


def _after(one: Regulation, name: Named) -> str:
    """How many notes are as they are to be, before and after; which of them wait."""
    worked = one.table.work
    if not np.any(worked) or not (one.steps.commons or one.steps.moves):
        return ""
    before, after = (~np.any(lengths_off(one, figures)[worked], axis=1) for figures in (one.before, one.after.values))
    before = before & ~moved(one)[worked]
    waits = [name(note) for note, ok in zip(one.notes, worked, strict=True) if not ok]
    rest = f"; at {names(waits)} nothing is set yet, for what is said below" if waits else ""
    return (
        f"Simulated again with that done, {int(after.sum())} of {int(worked.sum())} notes are within tolerance in "
        f"level, dip and play, {int(before.sum())} as found and left so{rest}."
    )


def _outside(one: Regulation, name: Named, said: Said) -> str:
    """Notes that are not within tolerance even then, and by what."""
    outside, found = one.outside(one.after.values), list[str]()
    for i in np.flatnonzero(one.table.work).tolist():
        speech, figures = one.after.verdicts[i], [KEPT[k] for k in np.flatnonzero(outside[i])]
        if not speech.sound:
            found.append(f"{name(one.notes[i])} ({speech})")
        elif figures:
            parts = [f"{BY_NAME[figure].heading} {_said(one, i, figure, said)}" for figure in figures]
            found.append(f"{name(one.notes[i])} ({', '.join(parts)})")
    if not found:
        return ""
    blind = not np.any(one.state.tells("spring") & one.table.work) and np.any(outside[:, KEPT.index("pluck")])
    more = " By what, hold and up-weight would tell: read them before a spring is bent." if blind else ""
    return f"Still outside then: {names(found)}.{more}"


def _said(one: Regulation, i: int, figure: str, said: Said) -> str:
    return said(float(one.after.values[i, NAMES.index(figure)]), BY_NAME[figure].unit)
