"""What all notes share, in sentences: the line that levels count from, frame, springs, wind; and plucks made even."""

from __future__ import annotations

import numpy as np

from keyaction.models.readings.figures import NAMES
from keyaction.models.readings.rounded import step_of
from keyaction.sim.regulating.judged import KEPT
from keyaction.sim.regulating.plan import FRAME
from keyaction.sim.regulating.read_off import read_off
from keyaction.sim.regulating.regulate import Regulation
from keyaction.sim.regulating.words import Named, Said, names


def line(one: Regulation, said: Said) -> str:
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


def frame(one: Regulation) -> str:
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


def alike(one: Regulation, said: Said) -> str:
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
    if one.wind.supposed and not one.wind.sure:
        lines.append(
            "No pressure is written on the sheet, and the plucks are off alike: measure the pressure. Without weights "
            "at enough notes, wind off too, the wind is not told from springs and friction; no step is proposed."
        )
    elif one.wind.supposed:
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


def even(one: Regulation, name: Named, said: Said) -> str:
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
