"""What is held against what, in sentences: tolerances, what is taken as drawn, what the tools leave open."""

from __future__ import annotations

import numpy as np
from scipy.special import ndtr

from keyaction.models.readings.figures import NAMES
from keyaction.models.units.quantity import System
from keyaction.sim.regulating.aims import Aims
from keyaction.sim.regulating.regulate import Regulation
from keyaction.sim.regulating.words import Named, Said, names, said_in


def ruler(one: Regulation, said: Said) -> str:
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


def drawing(one: Regulation, name: Named, said: Said) -> str:
    """What the drawing itself has less of than is wanted, once for all its notes: no reading is at fault for it."""
    drawn = one.table.drawn[:, NAMES.index("up")]
    less = np.flatnonzero(drawn < one.aims.up)
    if not len(less):
        return ""
    ends = [said(float(end), "N") for end in (np.min(drawn[less]), np.max(drawn[less]))]
    figure = ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"
    where = "all notes" if len(less) == len(drawn) else names([name(one.notes[i]) for i in less])
    return (
        f"The drawing itself has an up-weight of {figure} at {where}, less than {said(one.aims.up, 'N')}: a matter of "
        "its springs, masses and friction, which no regulating cures. Notes are held against what is drawn there."
    )


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
