"""The test that tells two causes that all notes can share apart, with what to expect under each."""

from __future__ import annotations

import math
from collections.abc import Sequence

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
_NOTES = 9
"""Notes that are read again at most."""


def second_of(step: Step) -> Common | None:
    """What else it could be, where that is likely enough to be named."""
    other = next((one for one in step.ranked if one.cause != step.found.cause), None)
    return other if other is not None and other.probability >= LEAST else None


def shared_test(found: Diagnosis, step: Step, units: System, name: str) -> str:
    """How a shared cause is told from the second, or how it is seen; `name` is that of the middle note."""
    pair = [step.found, *([other] if (other := second_of(step)) is not None else [])]
    answers = found.answers
    train = answers.trains[answers.notes[len(answers.notes) // 2]]
    if any(one.fault.kind == "pressure" for one in pair):
        now = train.value(train.role("box").name, "p_box")
        values = [now + (one.amount if one.fault.kind == "pressure" else 0.0) for one in pair]
        told = f"read the pressure in the box on a manometer: {_expected(pair, values, 'Pa', units)}"
        if math.isfinite(found.readings.head.pressure):
            return f"The sheet says {as_read(now, 'Pa', units)}: before anything else {told}"
        return f"To tell: {told}"
    if len(pair) > 1 and any(one.fault.kind == "spring" for one in pair):
        values = [at_eye(train) * (1.0 + (one.amount if one.fault.kind == "spring" else 0.0)) for one in pair]
        return f"To tell: weigh three springs at the eye, here that of {name}: " + _expected(pair, values, "N", units)
    if len(pair) > 1 and not any(one.side for one in pair) and (told := _figure(found, pair, units, name)):
        return f"To tell: {told}"
    return f"To tell: {step.found.fault.look}"


def _figure(found: Diagnosis, pair: Sequence[Common], units: System, at: str) -> str:
    """The figure that lies furthest apart at the middle note; empty where none does in a few readings."""
    rows = np.array([_row(found.answers, one) for one in pair])
    error = np.array([found.readings.head.error(name) for name in NAMES])
    apart = np.nan_to_num(np.abs(rows[0] - rows[1]) / error)
    best = int(np.argmax(apart))
    if not apart[best] > 0.0 or (ENOUGH / apart[best]) ** 2 > _NOTES:
        return ""
    name = NAMES[best]
    return f"{HOW[name]} at {at}: {_expected(pair, rows[:, best].tolist(), BY_NAME[name].unit, units)}"


def _row(answers: Answers, one: Common) -> Floats:
    """Figures of the middle note with one cause alone."""
    note = answers.notes[len(answers.notes) // 2]
    if one.fault.kind:
        return np.asarray(answers.all_at([(one.fault.kind, one.amount)], [note]).values[0])
    row = answers.plain.values[answers.notes.index(note)].copy()
    row[NAMES.index("level")] += one.amount
    return np.asarray(row)


def _expected(pair: Sequence[Common], values: Sequence[float], unit: str, units: System) -> str:
    told = [f"{as_read(value, unit, units)} if {one.fault.said}" for one, value in zip(pair, values, strict=True)]
    return "; ".join(told)
