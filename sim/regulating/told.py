"""What is found and what is to be done, in sentences: the answer first, then stage after stage."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping

import numpy as np
from scipy.special import ndtr

from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.readings.rounded import step_of
from keyaction.models.units.quantity import System
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.regulating.aims import Aims
from keyaction.sim.regulating.fewest import Flags
from keyaction.sim.regulating.judged import KEPT, limits
from keyaction.sim.regulating.plan import FRAME
from keyaction.sim.regulating.regulate import Regulation
from keyaction.sim.regulating.words import LISTS, Named, Said, cause_words, names, said_in, seen_in, turns
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
    said, seen = said_in(units), seen_in(units)
    lines = [
        _of_all(one),
        _answer(one, name, seen),
        _line(one, seen),
        _frame(one),
        _after(one, name),
        _even(one, name, said),
    ]
    lines += [_outside(one, name, seen), _alike(one, seen)]
    lines += [_left(one, name), _ruler(one, said), *_sent(one, name, seen), *_unheard(one, name, seen)]
    lines += [_not_read(one, name)]
    return [line for line in lines if line]


def _of_all(one: Regulation) -> str:
    """That more notes were read than are asked for, and what they do."""
    more = len(one.fitted) - len(one.notes)
    if more <= 0:
        return ""
    return (
        f"All {len(one.fitted)} notes that were measured say how even the action stands and what is common to all; "
        f"told and set {'is the one' if len(one.notes) == 1 else f'are the {len(one.notes)}'} asked for."
    )


def _line(one: Regulation, said: Said) -> str:
    """That the straightedge may be at fault, and what tells it from a rail."""
    if not one.datum:
        return ""
    way, lies = ("lower", "above") if one.datum > 0.0 else ("higher", "below")
    unread = " and ".join(figure for figure in ("play", "dip") if not np.any(one.state.shows(figure) & one.state.known))
    by, rail = (
        said(abs(one.datum), "m"),
        "the rail of the runs" if np.all(one.table.hung) else "a rest rail or a key frame",
    )
    told = f"play and dip do not go with them as {rail} would have it. Check"
    if unread:
        told = f"without {unread} that is not told from {rail}. Read {unread} too, and check"
    return (
        f"All levels are {by} {way} alike. The straightedge may have lain {by} {lies} the line that is drawn: {told} "
        "what it lay on before any rail is moved; none is. Until then levels count from that line."
    )


def _frame(one: Regulation) -> str:
    """Why a key frame is moved and no rail."""
    if FRAME not in one.plan.common:
        return ""
    stands = "low" if one.plan.common[FRAME] > 0.0 else "high"
    dip = np.any(one.state.shows("dip") & one.state.known)
    rest = "; the dip is not, and a rest rail would change it" if dip else ""
    return (
        f"Level and play are off together as the arms of the keys have them where the whole key frame stands too "
        f"{stands}{rest}: one move of the frame sets both.{_pulls(one)}"
    )


def _pulls(one: Regulation) -> str:
    """That runs which pull lift their keys besides, so that the amount is an end and no middle."""
    play = one.state.read[:, NAMES.index("play")]
    if not np.any(np.isfinite(play)) or np.nanmedian(play) > step_of("m", "trade"):
        return ""
    return " Runs that pull lift their keys besides: lower it little by little until there is play, and read again."


def _even(one: Regulation, name: Named, said: Said) -> str:
    """Notes whose nut is turned though neither play nor lift is outside, by what was read or by all readings."""
    ways = [KEPT.index(figure) for figure in ("play", "lift")]
    read, outside = read_off(one), np.any(one.outside(one.before)[:, ways], axis=1)
    turned = {move.note for move in one.steps.moves if move.kind == "nut"}
    found = [
        name(note)
        for i, note in enumerate(one.notes)
        if note in turned and not (one.table.hung[i] or outside[i] or {"play", "lift"} & set(read.get(note, ())))
    ]
    if not found or one.steps.commons:
        return ""
    return (
        f"Play within its tolerance, and set because plucks of neighbours are to come within "
        f"{said(one.aims.point, 'm')} of each other: {names(found)}."
    )


def _moved(one: Regulation) -> Flags:
    """Notes at which a nut is turned, or a felt or washer laid in."""
    return np.array([any(move.kind != "spring" for move in one.steps.of(note)) for note in one.notes], dtype=bool)


def _lengths_off(one: Regulation, figures: Floats) -> Flags:
    return one.outside(figures)[:, [KEPT.index(figure) for figure in ("level", "dip", "play")]]


def read_off(one: Regulation) -> dict[int, list[str]]:
    """Figures of `KEPT` that were read outside what is kept, by note, eased to the pressure that is wanted."""
    # A share that all are off together is named by itself; the figure is outside all the same.
    off = limits(one.table).off(one.state.read + one.before - one.state.figures) > 0.0
    return {note: [KEPT[k] for k in np.flatnonzero(off[i])] for i, note in enumerate(one.notes) if off[i].any()}


def _answer(one: Regulation, name: Named, said: Said) -> str:
    commons, moves = one.steps.commons, one.steps.moves
    if not commons and not moves:
        off = read_off(one)
        if one.datum and not off:
            return "Nothing to turn before the line that levels were read from is checked."
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
    if one.datum:
        found["levels count from another line than the straightedge's"] = [name(note) for note in one.notes]
    for cause in one.causes:
        found.setdefault(f"{SENT[cause.sent]}: {cause.said}", []).append(name(cause.note))
    found["nothing was read"] = [name(note) for note in one.unread]
    rows: list[list[Cell]] = [[what, len(own), ", ".join(own)] for what, own in found.items() if own]
    return Sheet(LISTS, "All notes of every list", [Column("what", text=True), Column("notes", "", 0),
                                                   Column("which", text=True)], rows)  # fmt: skip


def _after(one: Regulation, name: Named) -> str:
    """How many notes are as they are to be, before and after; which of them wait."""
    worked = one.table.work
    if not np.any(worked) or not (one.steps.commons or one.steps.moves):
        return ""
    before, after = (~np.any(_lengths_off(one, figures)[worked], axis=1) for figures in (one.before, one.after.values))
    before = before & ~_moved(one)[worked]
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


def _sent(one: Regulation, name: Named, said: Said) -> list[str]:
    """What is not turned: causes to be found, and readings to be taken again."""
    lines = []
    for sent, head in SENT.items():
        if sent == "unhook":
            continue
        by: dict[str, list[str]] = {}
        for cause in one.causes:
            if cause.sent == sent:
                by.setdefault(cause_words(cause, said), []).append(name(cause.note))
        lines += [f"{head}: {names(found)}: {words}." for words, found in by.items()]
    return lines


def _unheard(one: Regulation, name: Named, said: Said) -> list[str]:
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
    balanced, hung = (f"{said(low, 'm')} to {said(high, 'm')}" for low, high in (aims.balanced, aims.hung))
    return (
        f"Kept: level {said(aims.level, 'm')}, dip {said(aims.dip, 'm')} off what is drawn, play {balanced} (balanced; "
        f"hung {hung}) or no more than {said(aims.level, 'm')} off what is drawn, plucks "
        f"{100 * aims.even:.0f}\u00a0% of drawn and of neighbours: common practice. Nuts: one turn "
        f"{said(aims.pitch, 'm')}."
    )
