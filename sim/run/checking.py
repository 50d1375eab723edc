"""What is remarkable about a case before anything is played: out of the trade's range, or bound to fail."""

from __future__ import annotations

from collections.abc import Mapping

from keyaction.cases.action.case import Case
from keyaction.models.notes import note_name
from keyaction.models.train.train import Train
from keyaction.models.units.quantity import format_value
from keyaction.sim.figures.sketch import rigid, static_pluck
from keyaction.sim.figures.tightness import tightness

PLUCK_RANGE = (0.8, 2.5)
"""N: pluck of an uncoupled manual (common practice)."""
LIFT_RANGE = (0.004, 0.009)
"""m: pallet lift 4 to 9 mm (common practice); at most about 9 mm (C. E. Pykett, "Touch relief in mechanical
actions", 2001)."""
FEED = 3.0
"""Opening over toe area that fills the groove to 90 %: steady orifices in series, r^2 / (1 + r^2)."""


def _grouped(found: Mapping[int, str], case: Case) -> list[str]:
    """One line per distinct text, naming the notes."""
    groups: dict[str, list[int]] = {}
    for note, text in found.items():
        groups.setdefault(text, []).append(note)
    return [f"{_span(notes, case)}: {text}" for text, notes in groups.items()]


def _span(notes: list[int], case: Case) -> str:
    names = [note_name(note, case.naming) for note in notes]
    if len(notes) > 2 and notes[-1] - notes[0] == len(notes) - 1:
        return f"{names[0]} to {names[-1]}"
    return ", ".join(names[:8]) + (f" and {len(names) - 8} more" if len(names) > 8 else "")


def warnings(case: Case, trains: Mapping[int, Train]) -> list[str]:
    """Every warning of the case: fields outside the trade's range, and what the trains of the notes promise."""
    lines = list(case.warnings)
    for check in (_unplayed, _tight, _stopped, _pluck, _lift, _feed, _buckling):
        lines += _grouped({note: text for note, train in trains.items() if (text := check(train))}, case)
    return lines


def _unplayed(train: Train) -> str:
    """The reason without its figures, so that notes share a line."""
    return "; ".join(warned.brief for warned in train.warnings)


def _tight(train: Train) -> str:
    found = tightness(train)
    if found is None or not found.unseats:
        return ""
    drawn = "the rods are drawn up so tight (negative lost_motion)"
    return f"{drawn} that the pallet stands off its seat: the note sounds unplayed (a cipher)"


def _stopped(train: Train) -> str:
    pallet = train.role("pallet").values.derived
    if "gap_stop" not in pallet or pallet["gap_stop"].value / pallet["r_stop"].value > pallet["q_open"].value:
        return ""
    return "the pallet's stop touches it before the gap opens: the note does not speak unless its felt gives way"


def _pluck(train: Train) -> str:
    force = static_pluck(train)
    if PLUCK_RANGE[0] <= force <= PLUCK_RANGE[1]:
        return ""
    side = "below" if force < PLUCK_RANGE[0] else "above"
    limits = " to ".join(format_value(limit, "N") for limit in PLUCK_RANGE)
    return f"pluck by levers alone is {side} {limits} (common practice for an uncoupled manual)"


def _lift(train: Train) -> str:
    lift = train.dip * rigid(train).last
    if LIFT_RANGE[0] <= lift <= LIFT_RANGE[1]:
        return ""
    side = "below" if lift < LIFT_RANGE[0] else "above"
    return f"pallet lift at full dip, nothing giving way, is {side} 4 to 9 mm (common practice)"


def _feed(train: Train) -> str:
    pallet, groove = train.role("pallet").values.derived, train.role("groove").values.derived
    turn = train.dip * rigid(train).last / pallet["r_eye"].value
    gap, slot = turn * pallet["gap"].value, pallet["A_slot"].value
    opening = gap * slot / (gap**2 + slot**2) ** 0.5
    if groove["feet"].value == 0 or opening / groove["feet"].value >= FEED:
        return ""
    return "the full opening is less than 3 times the drawn toe area: the groove does not reach 90 % of the wind"


def _buckling(train: Train) -> str:
    force = static_pluck(train)
    found = rigid(train)
    weak = [
        part.name
        for part in train.parts
        if "euler_load" in part.values.derived
        and force / found.ways.get((part.name, ""), 1.0) > part.values.derived["euler_load"].value
    ]
    return f"{', '.join(weak)} would buckle under the pluck (Euler load, ends pivoted)" if weak else ""
