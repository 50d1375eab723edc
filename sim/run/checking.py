"""What is remarkable about a case before anything is played: out of the trade's range, or bound to fail."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.cases.action.remarks import odd
from keyaction.cases.fields.compass import Compass
from keyaction.models.notes import note_name
from keyaction.models.parts.key import Key
from keyaction.models.train.train import Train
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.figures import stages
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.doubled import doubling
from keyaction.sim.figures.verdict import Fate, alike, verdicts
from keyaction.sim.run.standings import Standing

LIFT_RANGE = (0.004, 0.009)
"""m: pallet lift 4 to 9 mm (common practice); at most about 9 mm (C. E. Pykett, "Touch relief in mechanical
actions", 2001)."""


def _grouped(found: Mapping[int, str], case: Case) -> list[str]:
    """One line per distinct text, naming the notes."""
    groups: dict[str, list[int]] = {}
    for note, text in found.items():
        groups.setdefault(text, []).append(note)
    return [f"{_span(notes, case)}: {text}" for text, notes in groups.items()]


def staged(case: Case, standings: Mapping[int, Standing], units: System) -> str:
    """The stages of the lowest note whose key works in further ones than plucks; empty where none does."""
    for note, one in sorted(standings.items()):
        if one.pressed is not None and stages.several(one.pressed):
            return f"{note_name(note, case.naming)}: {stages.told(one.pressed, units)}"
    return ""


def _span(notes: list[int], case: Case) -> str:
    names = [note_name(note, case.naming) for note in notes]
    if len(notes) > 2 and notes[-1] - notes[0] == len(notes) - 1:
        return f"{names[0]} to {names[-1]}"
    return ", ".join(names[:8]) + (f" and {len(names) - 8} more" if len(names) > 8 else "")


def warnings(case: Case, standings: Mapping[int, Standing]) -> list[str]:
    """Every warning of a case: what is wrong with notes, fields outside the trade's range, what trains promise."""
    lines = alike({note_name(note, case.naming): str(one.verdict) for note, one in standings.items()})
    lines += _driven(case, standings)
    lines += [*case.warnings, *_odd(case, {note: one.train for note, one in standings.items()})]
    for check in (_unplayed, _stopped, _pluck, _doubled, _lift, _buckling):
        lines += _grouped({note: text for note, one in standings.items() if (text := check(one))}, case)
    return lines


def _driven(case: Case, standings: Mapping[int, Standing]) -> list[str]:
    """What is wrong with pallets that couplers open, by the names of their parts."""
    told: dict[str, dict[str, str]] = {}
    for note, one in standings.items():
        if one.pressed is None or not _coupled(one.train):
            continue
        found = zip(one.pressed.press.sounders, verdicts(one.pressed), strict=True)
        for sounder, verdict in list(found)[1:]:
            if verdict.fate is not Fate.HELD:
                told.setdefault(sounder.pallet, {})[note_name(note, case.naming)] = str(verdict)
    return [f"{pallet}: {line}" for pallet, notes in told.items() for line in alike(notes)]


def _coupled(train: Train) -> bool:
    """Whether couplers are drawn that reach another key."""
    return any(part.role == "coupler" for part in train.parts)


def _odd(case: Case, trains: Mapping[int, Train]) -> list[str]:
    """Fields that parts warn of, each with its values."""
    found = {note: train.warnings for note, train in trains.items()}
    return list(odd(case.path.name, Compass(case.compass, case.naming), found))


def _unplayed(standing: Standing) -> str:
    """The reason without its figures, so that notes share a line."""
    return "; ".join(warned.brief for warned in standing.train.warnings if not warned.field)


def _stopped(standing: Standing) -> str:
    pallet = standing.train.role("pallet").values.derived
    if "gap_stop" not in pallet or pallet["gap_stop"].value / pallet["r_stop"].value > pallet["q_open"].value:
        return ""
    return "the pallet's stop touches it before the gap opens: the note does not speak unless its felt gives way"


def _figure(standing: Standing, name: str) -> float:
    """A figure of the slow press; NaN where there is none."""
    return float(QUANTITIES[name].compute(standing.pressed)) if standing.pressed else math.nan


def _pluck(standing: Standing) -> str:
    force = _figure(standing, "pluck_force")
    key = standing.train.key.part
    coupled = _coupled(standing.train)
    name = "usual_coupled" if coupled else "usual_pluck"
    usual, what = getattr(key, name, getattr(Key, name)), getattr(key, "keyboard", Key.keyboard)
    if math.isnan(force) or usual is None or ((force >= usual[0] or coupled) and force <= usual[1]):
        return ""  # that coupled keys are light is no fault
    side = "below" if force < usual[0] else "above"
    limits = " to ".join(format_value(limit, "N") for limit in usual)
    return f"pluck is {side} {limits} (common practice for {f'coupled {what}s' if coupled else f'an uncoupled {what}'})"


def _doubled(standing: Standing) -> str:
    """Pallets of one key that double the touch; without figures of the note, so that notes share a line."""
    told = doubling(standing.pressed) if standing.pressed else ""
    return f"{told.partition(':')[0]} (common practice: the second opens as the groove fills)" if told else ""


def _lift(standing: Standing) -> str:
    lift = _figure(standing, "steady_lift")
    if math.isnan(lift) or LIFT_RANGE[0] <= lift <= LIFT_RANGE[1]:
        return ""
    side = "below" if lift < LIFT_RANGE[0] else "above"
    return f"pallet lift is {side} 4 to 9 mm (common practice)"


def _buckling(standing: Standing) -> str:
    """Rods that are pushed with more than Euler's load, wherever in the press."""
    if standing.pressed is None:
        return ""
    down, weak = standing.pressed.press.down, []
    for part in standing.train.parts:
        if "euler_load" in part.values.derived and getattr(part.part, "pushed", False):
            pushes = [link.element for link in standing.pressed.kinematics.links if link.element.part == part.name]
            most = max(float(np.max(down[one.force])) for one in pushes)
            weak += [part.name] if most > part.values.derived["euler_load"].value else []
    return f"{', '.join(weak)} would buckle in a slow press (Euler load, ends pivoted)" if weak else ""
