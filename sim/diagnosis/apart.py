"""The test that tells two causes that all notes can share apart, with what to expect under each."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.readings.rounded import as_read
from keyaction.models.units.quantity import System
from keyaction.sim.diagnosis.answers import Answers
from keyaction.sim.diagnosis.found import Diagnosis
from keyaction.sim.diagnosis.separate import ENOUGH, HOW, at_eye
from keyaction.sim.diagnosis.shared import Common, Step
from keyaction.sim.motion.integrate import Floats

LEAST = 0.01
"""Probability from which on a second cause is named."""
_NOTES, _LOOKED = 9, 5
"""Notes that are read again at most, and over how many of the sheet the one is looked for that parts causes best."""


def second_of(step: Step) -> Common | None:
    """What else it could be, where that is likely enough to be named."""
    other = next((one for one in step.ranked if one.cause != step.found.cause), None)
    return other if other is not None and other.probability >= LEAST else None


def shared_test(found: Diagnosis, step: Step, units: System, named: Callable[[int], str]) -> str:
    """How a shared cause is told from the second, or how it is seen; `named` gives the names of notes."""
    pair = [step.found, *([other] if (other := second_of(step)) is not None else [])]
    answers = found.answers
    middle = answers.notes[len(answers.notes) // 2]
    train = answers.trains[middle]
    if any(one.fault.kind == "pressure" for one in pair):
        now = train.value(train.role("box").name, "p_box")
        values = [now + (one.amount if one.fault.kind == "pressure" else 0.0) for one in pair]
        told = f"read the pressure in the box on a manometer: {_expected(pair, values, 'Pa', units)}"
        if math.isfinite(found.readings.head.pressure):
            return f"The sheet says {as_read(now, 'Pa', units)}: before anything else {told}"
        return f"To tell: {told}"
    if len(pair) > 1 and any(one.fault.kind == "spring" for one in pair):
        values = [at_eye(train) * (1.0 + (one.amount if one.fault.kind == "spring" else 0.0)) for one in pair]
        return f"To tell: weigh three springs at the eye, here that of {named(middle)}: " + _expected(
            pair, values, "N", units
        )
    if len(pair) > 1 and not any(one.side for one in pair) and (told := _figure(found, pair, units, named)):
        return f"To tell: {told}"
    looks = list(dict.fromkeys(one.fault.look for one in (step.found, *step.sharing)))
    return f"To tell: {'; '.join(looks)}"


def _figure(found: Diagnosis, pair: Sequence[Common], units: System, named: Callable[[int], str]) -> str:
    """The figure and note at which two lie furthest apart; empty where no few readings tell them."""
    notes = found.answers.notes
    chosen = sorted({notes[i] for i in np.linspace(0, len(notes) - 1, _LOOKED).round().astype(int)})
    rows = np.array([_rows(found.answers, one, chosen) for one in pair])
    error = np.array([found.readings.head.error(name) for name in NAMES])
    apart = np.nan_to_num(np.abs(rows[0] - rows[1]) / error)
    at, best = np.unravel_index(int(np.argmax(apart)), apart.shape)
    if not apart[at, best] > 0.0 or (ENOUGH / apart[at, best]) ** 2 > _NOTES:
        return ""
    name = NAMES[best]
    expected = _expected(pair, rows[:, at, best].tolist(), BY_NAME[name].unit, units)
    return f"{HOW[name]} at {named(chosen[at])}: {expected}"


def _rows(answers: Answers, one: Common, notes: Sequence[int]) -> Floats:
    """Figures of some notes with one cause alone."""
    if one.fault.kind:
        return np.asarray(answers.all_at([(one.fault.kind, one.amount)], notes).values)
    rows = answers.plain.values[[answers.notes.index(note) for note in notes]].copy()
    rows[:, NAMES.index("level")] += one.amount
    return np.asarray(rows)


def _expected(pair: Sequence[Common], values: Sequence[float], unit: str, units: System) -> str:
    told = [f"{as_read(value, unit, units)} if {one.fault.said}" for one, value in zip(pair, values, strict=True)]
    return "; ".join(told)
