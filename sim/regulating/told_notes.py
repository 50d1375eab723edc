"""What is not turned, in sentences: notes whose cause is found first, that cipher or are mute, or were not read."""

from __future__ import annotations

import math

import numpy as np

from keyaction.models.readings.figures import NAMES
from keyaction.sim.regulating.judged import KEPT
from keyaction.sim.regulating.regulate import Regulation
from keyaction.sim.regulating.words import Named, Said, cause_words, names, turns

SENT = {
    "measure": "Measure again before anything is turned there",
    "diagnose": "Not regulated away, find the cause first (`keyaction diagnose`)",
    "unhook": "Let go until it is silent, then measure again",
}
"""Where notes are sent on to, in words."""


def left(one: Regulation, name: Named) -> str:
    """Notes that were read outside a tolerance, and stand within it by what all readings say together."""
    ways, worked = [KEPT.index(figure) for figure in ("level", "dip", "play")], one.table.work
    outside = (one.kept.off(one.state.read)[:, ways] > 0.0).any(axis=1)
    still = np.array([not any(move.kind != "spring" for move in one.steps.of(note)) for note in one.notes])
    found = [name(one.notes[i]) for i in np.flatnonzero(worked & outside & still)] if not one.steps.commons else []
    if not found:
        return ""
    return (
        f"Read outside, but by no more than the tools' errors among notes that stand so even: {names(found)}. Nothing "
        "is turned there; read them once more."
    )


def sent(one: Regulation, name: Named, said: Said) -> list[str]:
    """What is not turned: causes to be found, and readings to be taken again."""
    lines = []
    for way, head in SENT.items():
        if way == "unhook":
            continue
        by: dict[str, list[str]] = {}
        for cause in one.causes:
            if cause.sent == way:
                by.setdefault(cause_words(cause, said), []).append(name(cause.note))
        lines += [f"{head}: {names(found)}: {words}." for words, found in by.items()]
    return lines


def unheard(one: Regulation, name: Named, said: Said) -> list[str]:
    """Notes that cipher, and mute ones of whose play nothing is known."""
    lines = []
    for cause in one.causes:
        if cause.kind == "ciphers":
            i = one.notes.index(cause.note)
            lines.append(f"{name(cause.note)} ciphers: {cipher_words(one, i, said)}.")
    denied = {cause.note for cause in one.causes if cause.kind == "word"}
    speech = zip(one.notes, one.state.speech, strict=True)
    mute = [i for i, (note, word) in enumerate(speech) if word == "mute" and note not in denied]
    return lines + [f"{name(one.notes[i])} is mute: {why}." for i in mute if (why := mute_words(one, i, said))]


def cipher_words(one: Regulation, i: int, said: Said) -> str:
    """What can be said of a note that sounds unplayed."""
    own = one.state.bench.knobs[i]["nut"]
    drawn, rise = float(one.table.drawn[i, NAMES.index("play")]), one.table.rise("nut", "play")[i]
    first = f"loosen the nut of {own.part} until it is silent"
    if one.table.hung[i]:
        return (
            f"{first}, then measure it again: its level tells the rest. If no loosening silences it, the pallet is at "
            "fault"
        )
    more = max(math.ceil(4.0 * drawn / rise / one.aims.pitch) / 4.0, 0.0)
    return (
        f"{first}, then {turns(more)} for a play of {said(drawn, 'm')}, and measure it again. If no loosening silences "
        "it, the pallet is at fault"
    )


def mute_words(one: Regulation, i: int, said: Said) -> str:
    """What can be said of a note that does not speak; empty where its nut is turned and that is all."""
    own = one.state.bench.knobs[i]["nut"]
    turned = any(move.kind == "nut" for move in one.steps.of(one.notes[i]))
    figure = "level" if one.table.hung[i] else "play"
    if one.state.known[i] and one.state.shows(figure)[i]:
        return "" if turned else f"although its {figure} is right: not the nut; find the cause (`keyaction diagnose`)"
    drawn = said(float(one.table.drawn[i, NAMES.index("play")]), "m")
    aim = "the key stands at the line" if one.table.hung[i] else f"the key has {drawn} of play"
    return (
        f"tighten the nut of {own.part} until {aim}, then measure it again; if it is mute then, it is not the nut "
        "(`keyaction diagnose`)"
    )


def not_read(one: Regulation, name: Named) -> str:
    if not one.unread:
        return ""
    moved = ", but what is moved for all moves them too" if one.steps.commons else ""
    return f"Nothing was read of {names([name(note) for note in one.unread])}: they stay as they are{moved}."
