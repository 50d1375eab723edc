"""What is found and what is to be done, in sentences: the answer first, then stage after stage."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence

import numpy as np
from scipy.special import ndtr

from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.units.quantity import System
from keyaction.sim.regulating.aims import STAGES, Aims
from keyaction.sim.regulating.causes import Cause
from keyaction.sim.regulating.judged import KEPT, limits
from keyaction.sim.regulating.regulate import Regulation
from keyaction.sim.regulating.words import Said, common_words, said_in, turns

Named = Callable[[int], str]
_MANY = 8
_SINGLE = {
    "springs": "spring{s} to be bent",
    "level": {"nut": "nut{s} to be turned for the level", "rest": "key{s} to be set where {it} rest{v}"},
    "dip": "key{s} with another washer or cloth at the bottom",
    "pluck point": "nut{s} to be turned for the play",
}
_NOTHING = {
    "pressure": "nothing to do",
    "pallets seat": "nothing stands out",
    "springs": "nothing to bend",
    "pull-downs": "no friction stands out",
    "rollers": "none gives way more than drawn",
    "rail": "no offset that the notes share",
    "level": "no single key to be set",
    "dip": "as drawn",
    "pluck point": "even",
}
_NEEDS = {
    "pallets seat": ("seal", "pluck with hold and up-weight"),
    "springs": ("spring", "hold and up-weight beside the pluck"),
    "pull-downs": ("friction", "hold and up-weight"),
    "rollers": ("soft-run", "play and pluck point"),
}
_SHOWN_BY = {"level": "level", "dip": "dip", "pluck point": "play"}


def names(found: Sequence[str]) -> str:
    """Some names, the first of many."""
    more = len(found) - _MANY
    return ", ".join(found) if more <= 1 else f"{', '.join(found[:_MANY])} and {more} more"


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
    lines = [_answer(one)]
    lines += [line for line in (_after(one, name), _outside(one, name, said), _alike(one, said)) if line]
    lines += [_ruler(one, said), *_sent(one, name), *_unheard(one, name, said)]
    lines += [_not_read(one, name)]
    return [line for line in lines if line]


def _answer(one: Regulation) -> str:
    commons, moves = one.steps.commons, one.steps.moves
    if not commons and not moves:
        rest = ", but for what is named below" if one.causes else ""
        return f"Nothing to turn: no figure that was read is outside its tolerance{rest}."
    touched = len({move.note for move in moves})
    kinds = Counter(move.kind for move in moves)
    words = {"spring": "spring", "rest": "key rest", "bottom": "dip washer", "nut": "nut"}
    parts = [f"{kinds[kind]} {word}{'s' * (kinds[kind] > 1)}" for kind, word in words.items() if kinds[kind]]
    shared = f"{len(commons)} step{'s' * (len(commons) > 1)} for all notes at once" if commons else ""
    single = f"{', '.join(parts)} at {touched} of {len(one.notes)} notes" if parts else ""
    return f"To do: {', then '.join(part for part in (shared, single) if part)}."


def _read_and_worked(one: Regulation) -> np.ndarray:
    return np.asarray(one.table.work)


def _after(one: Regulation, name: Named) -> str:
    """How many notes are within tolerance, before and after."""
    worked = _read_and_worked(one)
    if not np.any(worked):
        return ""
    kept = limits(one.table, one.plan.springs_off)
    ways = [KEPT.index(figure) for figure in ("level", "dip", "play")]
    before, after = (kept.within(figures)[:, ways].all(axis=1)[worked] for figures in (one.before, one.after.values))
    if not one.steps.commons and not one.steps.moves:
        return ""
    return (
        f"Simulated again with that done, {int(after.sum())} of {int(worked.sum())} notes are within tolerance in "
        f"level, dip and play, {int(before.sum())} as found."
    )


def _outside(one: Regulation, name: Named, said: Said) -> str:
    """Notes that are not within tolerance even then, and by what."""
    kept, worked = limits(one.table, one.plan.springs_off), _read_and_worked(one)
    off = kept.off(one.after.values)
    found = []
    for i in np.flatnonzero(worked):
        speech = one.after.verdicts[i]
        outside = [KEPT[k] for k in range(len(KEPT)) if off[i, k] > 0.0]
        if not one.state.shows("pluck")[i]:
            outside = [figure for figure in outside if figure not in ("pluck", "up")]
        if not speech.sound:
            found.append(f"{name(one.notes[i])} ({speech})")
        elif outside:
            parts = [f"{BY_NAME[figure].heading} {_said(one, i, figure, said)}" for figure in outside]
            found.append(f"{name(one.notes[i])} ({', '.join(parts)})")
    return f"Still outside then: {names(found)}." if found else ""


def _said(one: Regulation, i: int, figure: str, said: Said) -> str:
    return said(float(one.after.values[i, NAMES.index(figure)]), BY_NAME[figure].unit)


def _alike(one: Regulation, said: Said) -> str:
    lines = []
    if one.plan.springs_off:
        lines.append(
            f"All springs together are {100 * one.plan.springs_off:+.0f}\u00a0% off what is drawn, even among "
            "themselves; they are left so (--springs drawn sets each; a weight on one spring's eye tells whether it "
            "is the springs or the balance of the keys)."
        )
    if one.supposed:
        lines.append(
            f"No pressure is written on the sheet; by what the plucks have in common it stood at about "
            f"{said(one.pressure[0], 'Pa')}. Measure it before it is set."
        )
    if one.seal:
        lines.append(
            f"On all pallets together the wind presses {100 * one.seal:+.0f}\u00a0% otherwise than drawn, at the "
            "pressure that was written down: the case's sealing margin is not that of these pallets. No single note "
            "is at fault (`keyaction calibrate`)."
        )
    return " ".join(lines)


def _ruler(one: Regulation, said: Said) -> str:
    """How sure it is, by the errors of the readings."""
    worked, k = _read_and_worked(one) & one.state.shows("level"), NAMES.index("level")
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
    heads = {
        "measure": "Measure again before anything is turned there",
        "diagnose": "Not regulated away, find the cause first (`keyaction diagnose`)",
    }
    lines = []
    for sent, head in heads.items():
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
    for i in np.flatnonzero([word == "mute" for word in one.state.speech]):
        if why := mute_words(one, int(i), said):
            lines.append(f"{name(one.notes[i])} is mute: {why}.")
    return lines


def cipher_words(one: Regulation, i: int, said: Said) -> str:
    """What can be said of a note that sounds unplayed."""
    own = one.state.bench.knobs[i]["nut"]
    drawn, rise = float(one.table.drawn[i, NAMES.index("play")]), one.table.rise("nut", "play")[i]
    first = f"loosen the nut of {own.part} until it is silent"
    if one.table.hung[i]:
        return f"{first}, then measure it again: its level tells the rest. If no loosening silences it, the pallet is at fault"
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
    unread = [name(note) for i, note in enumerate(one.notes) if not one.state.known[i] and not one.state.speech[i]]
    return f"Nothing was read of {names(unread)}: they stay as they are." if unread else ""


def stages(one: Regulation, name: Named, units: System = "trade", couplers: Sequence[str] = ()) -> list[str]:
    """The trade's order, a line each: what is done there, what is nothing, and what was not read.

    Parameters
    ----------
    one : Regulation
    name : callable
    units : {"trade", "si"}
    couplers : sequence of str
        Couplers that take hold of the division.
    """
    said, lines = said_in(units), list[str]()
    for k, stage in enumerate(STAGES, 1):
        words = _stage(one, stage, name, said) if stage in _NOTHING else _last(one, stage, couplers)
        lines.append(f"{k}. {stage}: {words}")
    return lines


def _stage(one: Regulation, stage: str, name: Named, said: Said) -> str:
    parts = [f"{common_words(step, said)} ({_does(step.change, said)})" for step in one.steps.commons if step.stage == stage]
    moves = [move for move in one.steps.moves if move.stage == stage]
    for kind in dict.fromkeys(move.kind for move in moves):
        own = [move for move in moves if move.kind == kind]
        parts.append(f"{_counted(stage, kind, len(own))}: {names([name(move.note) for move in own])}")
    sent = [cause for cause in one.causes if cause.stage == stage and cause.sent == "diagnose"]
    if sent:
        parts.append(f"find the cause first at {names(list(dict.fromkeys(name(cause.note) for cause in sent)))}")
    if parts:
        return "; ".join(parts)
    return _unknown(one, stage) or _NOTHING[stage]


def _counted(stage: str, kind: str, count: int) -> str:
    form = _SINGLE[stage]
    text = form if isinstance(form, str) else form[kind]
    return f"{count} {text.format(s='s' * (count > 1), it='they' if count > 1 else 'it', v='' if count > 1 else 's')}"


def _does(change: Mapping[str, float], said: Said) -> str:
    """What a common move does to level, play, lift and pluck."""
    parts = []
    for figure in ("level", "play", "dip", "lift", "pluck"):
        about, by = BY_NAME[figure], float(change[figure])
        if math.isfinite(by) and abs(by) > (5e-6 if about.unit == "m" else 5e-3):
            parts.append(f"{about.heading} {'+' if by > 0.0 else '\u2212'}{said(abs(by), about.unit)}")
    return ", ".join(parts) or "no figure at the key changes"


def _unknown(one: Regulation, stage: str) -> str:
    """That nothing is known of a stage, and which reading would tell; empty where enough was read."""
    if stage == "pressure":
        return "not written on the sheet; measure it first" if math.isnan(one.readings.head.pressure) else ""
    if stage in _NEEDS:
        kind, needs = _NEEDS[stage]
        return "" if np.any(one.state.tells(kind) & one.state.known) else f"not told by what was read; read {needs}"
    if stage in _SHOWN_BY:
        figure = _SHOWN_BY[stage]
        if stage == "pluck point" and np.all(one.table.hung):
            return "a hung key has no play to set; its level sets the run"
        return "" if np.any(one.state.shows(figure) & one.state.known) else f"not told by what was read; read the {figure}"
    return ""


def _last(one: Regulation, stage: str, couplers: Sequence[str]) -> str:
    """Couplers, pedal, and the second measuring."""
    moved = sum(any(move.kind in ("nut", "rest", "bottom") for move in one.steps.of(note)) for note in one.notes)
    shared = any(step.kind in ("nut", "rest", "bottom") for step in one.steps.commons)
    reach = f"{len(one.notes) if shared else moved} notes stand otherwise afterwards"
    if stage == "recheck":
        return "measure a new sheet and read it with --before this one" if moved or shared else "nothing was changed"
    if stage == "pedal":
        return "its couplers to this division last, if it has any" if moved or shared else "nothing to follow"
    if not couplers:
        return "none take hold of this division" if not (moved or shared) else "any that take hold here, again"
    then = f"; {reach}: set their play again from above (`keyaction tune --coupler-play`)" if moved or shared else ""
    return f"{', '.join(couplers)}{then}"


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


