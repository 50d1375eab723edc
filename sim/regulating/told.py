"""What is found and what is to be done, in sentences: the answer first, then stage after stage."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping

import numpy as np
from scipy.special import ndtr

from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.units.quantity import System
from keyaction.sim.regulating.aims import Aims
from keyaction.sim.regulating.judged import KEPT, limits
from keyaction.sim.regulating.regulate import Regulation
from keyaction.sim.regulating.words import LISTS, Named, Said, names, said_in, turns
from keyaction.sim.tables.sheet import Cell, Column, Sheet

SENT = {
    "measure": "Measure again before anything is turned there",
    "diagnose": "Not regulated away, find the cause first (`keyaction diagnose`)",
    "unhook": "Let go until it is silent, then measure again",
}
"""Where notes are sent on to, in words."""


def told(one: Regulation, name: Named, units: System = "trade") -> list[str]:
    """The answer in sentences: how much is to be done, and what comes of it.

    Parameters
    ----------
    one : Regulation
    name : callable
        Names a note.
    units : {"trade", "si"}
    """
    said = said_in(units)
    lines = [_answer(one, name, said)]
    lines += [line for line in (_after(one), _outside(one, name, said), _alike(one, said)) if line]
    lines += [_left(one, name), _ruler(one, said), *_sent(one, name), *_unheard(one, name, said)]
    lines += [_not_read(one, name)]
    return [line for line in lines if line]


def read_off(one: Regulation) -> dict[int, list[str]]:
    """Figures of `KEPT` that were read outside what is kept, by note, eased to the pressure that is wanted."""
    # A share that all are off together is named by itself; the figure is outside all the same.
    off = limits(one.table).off(one.state.read + one.before - one.state.figures) > 0.0
    return {note: [KEPT[k] for k in np.flatnonzero(off[i])] for i, note in enumerate(one.notes) if off[i].any()}


def _answer(one: Regulation, name: Named, said: Said) -> str:
    commons, moves = one.steps.commons, one.steps.moves
    if not commons and not moves:
        off = read_off(one)
        if off:
            return f"Nothing to turn, though not all is as it is to be. {_read_words(one, off, name, said)}"
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


def _read_words(one: Regulation, off: Mapping[int, list[str]], name: Named, said: Said) -> str:
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
    for cause in one.causes:
        found.setdefault(f"{SENT[cause.sent]}: {cause.said}", []).append(name(cause.note))
    found["nothing was read"] = [name(note) for note in one.unread]
    rows: list[list[Cell]] = [[what, len(own), ", ".join(own)] for what, own in found.items() if own]
    return Sheet(LISTS, "All notes of every list", [Column("what", text=True), Column("notes", "", 0),
                                                   Column("which", text=True)], rows)  # fmt: skip


def _after(one: Regulation) -> str:
    """How many notes are within tolerance, before and after."""
    worked = one.table.work
    if not np.any(worked):
        return ""
    ways = [KEPT.index(figure) for figure in ("level", "dip", "play")]
    before, after = (~one.outside(figures)[worked][:, ways].any(axis=1) for figures in (one.before, one.after.values))
    if not one.steps.commons and not one.steps.moves:
        return ""
    return (
        f"Simulated again with that done, {int(after.sum())} of {int(worked.sum())} notes are within tolerance in "
        f"level, dip and play, {int(before.sum())} as found."
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


def _alike(one: Regulation, said: Said) -> str:
    lines = []
    if one.plan.springs_off:
        lines.append(
            f"All springs together are {100 * one.plan.springs_off:+.0f}\u00a0% off what is drawn, even among "
            "themselves; they are left so: a weight on one spring's eye tells whether it is the springs or the "
            "balance of the keys (--springs drawn sets each)."
        )
    if one.wind.exchanged:
        lines.append(
            "Weights stand under the other state of the wind: none is believed, no spring is bent and no pressure set. "
            "Write them under their own headings, or measure the pressure and weigh again."
        )
    if one.wind.contradicts:
        lines.append(
            f"The plucks contradict the pressure on the sheet, {said(one.readings.head.pressure, 'Pa')}: measure the "
            "pressure again; no step is made of it."
        )
    if one.plan.hinted:
        lines.append("All that were read are off alike: read more notes before a rail is moved.")
    if one.supposed and not one.wind.sure:
        lines.append(
            "No pressure is written on the sheet, and the plucks are off alike: measure the pressure. Without weights "
            "at enough notes, wind off too, the wind is not told from springs and friction; no step is proposed."
        )
    elif one.supposed:
        lines.append(
            f"No pressure is written on the sheet; by what the plucks have in common it stood at about "
            f"{said(one.pressure[0], 'Pa')}. Measure it before it is set."
        )
    if one.seal:
        lines.append(
            f"On all pallets together the wind presses {100 * one.seal:+.0f}\u00a0% otherwise than drawn, at the "
            "pressure that was written down: if that stands, the case's sealing margin is "
            "not that of these pallets (`keyaction calibrate`). No single note is at fault."
        )
    return " ".join(lines)


def _left(one: Regulation, name: Named) -> str:
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


def _ruler(one: Regulation, said: Said) -> str:
    """How sure it is, by the errors of the readings."""
    worked, k = one.table.work & one.state.shows("level"), NAMES.index("level")
    if not np.any(worked):
        return ""
    sd, mean = one.state.figure_sd[worked, k], one.after.values[worked, k]
    miss = float(np.sum(1.0 - ndtr((one.aims.level - mean) / sd) + ndtr((-one.aims.level - mean) / sd)))
    if miss < 0.5:
        return ""
    return (
        f"With readings good to {said(one.readings.head.ruler, 'm')} about {miss:.0f} of {int(worked.sum())} keys "
        f"will still stand off by more than {said(one.aims.level, 'm')}: read the level again afterwards."
    )


def _sent(one: Regulation, name: Named) -> list[str]:
    """What is not turned: causes to be found, and readings to be taken again."""
    lines = []
    for sent, head in SENT.items():
        if sent == "unhook":
            continue
        by: dict[str, list[str]] = {}
        for cause in one.causes:
            if cause.sent == sent:
                by.setdefault(cause.said, []).append(name(cause.note))
        lines += [f"{head}: {names(found)}: {said}." for said, found in by.items()]
    return lines


def _unheard(one: Regulation, name: Named, said: Said) -> list[str]:
    """Notes that cipher, and mute ones of whose play nothing is known."""
    lines = []
    for cause in one.causes:
        if cause.kind == "ciphers":
            i = one.notes.index(cause.note)
            lines.append(f"{name(cause.note)} ciphers: {cipher_words(one, i, said)}.")
    mute = [i for i, word in enumerate(one.state.speech) if word == "mute"]
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


def _not_read(one: Regulation, name: Named) -> str:
    if not one.unread:
        return ""
    moved = ", but what is moved for all moves them too" if one.steps.commons else ""
    return f"Nothing was read of {names([name(note) for note in one.unread])}: they stay as they are{moved}."


def supposed(one: Regulation) -> list[str]:
    """What the readings do not tell and is taken to be as drawn."""
    kinds = {"spring": "springs", "seal": "how the pallets seal", "friction": "friction", "nut": "nuts"}
    kinds |= {"rest": "where the keys rest", "bottom": "what lies on the bottom", "soft-run": "how the run gives way"}
    there = {kind for own in one.state.bench.knobs for kind in own}
    worked = one.state.known
    missing = [words for kind, words in kinds.items() if kind in there and not np.any(one.state.tells(kind) & worked)]
    lines = ["Balance of the keys and springs are not told apart at the key: the balance is taken as drawn."]
    if missing:
        lines.append(f"Not told by what was read, and taken as drawn: {', '.join(missing)}.")
    return lines


def tolerances(aims: Aims, units: System = "trade") -> str:
    """What was aimed at, in a line."""
    said = said_in(units)
    return (
        f"Kept: level {said(aims.level, 'm')}, dip {said(aims.dip, 'm')} as drawn, play as drawn or "
        f"{said(aims.balanced[0], 'm')} to {said(aims.balanced[1], 'm')} (balanced; hung {said(aims.hung[0], 'm')} to "
        f"{said(aims.hung[1], 'm')}), plucks {100 * aims.even:.0f}\u00a0% of drawn and of neighbours: common practice. "
        f"Nuts: one turn {said(aims.pitch, 'm')}."
    )
