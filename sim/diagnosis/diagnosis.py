"""What was measured at the keys of a case, diagnosed: what all notes share, then what is wrong with single notes."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.readings.figures import NAMES
from keyaction.models.readings.readings import Readings
from keyaction.models.train.train import Train
from keyaction.sim.diagnosis.answers import Answers, Step, quiet
from keyaction.sim.diagnosis.candidates import Candidate
from keyaction.sim.diagnosis.curves import code_of, codes
from keyaction.sim.diagnosis.evenness import evenness
from keyaction.sim.diagnosis.evidence import Seen
from keyaction.sim.diagnosis.found import Diagnosis
from keyaction.sim.diagnosis.hypotheses import FEWEST
from keyaction.sim.diagnosis.judged import judged, weigh
from keyaction.sim.diagnosis.neighbours import drifts, hints
from keyaction.sim.diagnosis.posterior import believe_all
from keyaction.sim.diagnosis.shared import base
from keyaction.sim.measuring.computed import as_measured
from keyaction.sim.motion.integrate import Floats

_ROUNDS = 2
"""Rounds in which what all share is looked for, by how evenly the notes of the sheet were seen to stand."""


def answers_for(
    trains: Mapping[int, Train], readings: Readings, strokes: Strokes, jobs: int = 0, step: Step | None = None
) -> Answers:
    """What is computed for a sheet; it can serve for several sheets of the same notes and figures.

    Parameters
    ----------
    trains : mapping of int to Train
        Of the notes of the case; those that were not measured are left out.
    readings : Readings
    strokes : Strokes
    jobs : int
        Threads; 0 means one per core.
    step : callable, optional
        Told of every piece of work that is done.
    """
    chosen = {note: trains[note] for note in readings.notes if note in trains}
    off = any(name.endswith("_off") for name in readings.figures)
    measured = {note: as_measured(train, readings.head) for note, train in chosen.items()}
    few = len(chosen) < FEWEST
    return Answers(measured, chosen, strokes, off, few, jobs, step or quiet)


def diagnose(answers: Answers, readings: Readings, asked: Sequence[int] | None = None) -> Diagnosis:
    """Diagnose a sheet.

    Parameters
    ----------
    answers : Answers
        Of its notes (`answers_for`).
    readings : Readings
    asked : sequence of int, optional
        Notes that are told, by default all; what is found of them does not hang on it.

    Returns
    -------
    Diagnosis

    Notes
    -----
    Of every note the models of no, one and two faults are weighed by their marginal likelihoods on grids of amounts;
    figures of two faults are those of each, added, and of the likeliest pairs pressed once more. Before that one cause
    for all notes is looked for, with notes astray allowed for: first as they scatter by custom, then as in this sheet.
    """
    drawn = _seen(answers, readings, answers.plain.values, codes(answers.plain))
    good, faulty = ([of(note) for note in answers.notes] for of in (answers.scatter, answers.faulty))
    even, known = 1.0, tuple[Candidate, ...]()
    for _ in range(_ROUNDS):
        shared = base(answers, _scattering(drawn, good, even), math.isfinite(readings.head.pressure), known)
        known = shared.known
        now = _seen(answers, readings, shared.plain.values, codes(shared.plain))
        now = [replace(one, scatter=one.scatter + more) for one, more in zip(now, shared.uncertain, strict=True)]
        even = evenness(now, good, faulty)
    now = _scattering(now, good, even)
    drifted, after = drifts(answers.notes, now)
    every, evidence = weigh(answers, after, readings.head.humidity)
    supposed = [[curve.hypothesis for curve in one.curves] for one in every]
    beliefs, rate = believe_all(evidence, supposed, readings.head.humidity)
    found = tuple(
        judged(answers, i, one, own, belief, shared)
        for i, (one, own, belief) in enumerate(zip(every, evidence, beliefs, strict=True))
    )
    freedom = float(sum(one.freedom for one in found))
    sums = [float(sum(one.squared for one in part)) for part in (_scattering(drawn, good, even), now, after)]
    unpressed = {note: why for note, why in zip(answers.notes, answers.plain.failed, strict=True) if why}
    return Diagnosis(
        answers, readings, shared, tuple(drifted), tuple(hints(answers.trains, now)), found, rate,
        (sums[0], sums[1], sums[2], float(sum(one.left for one in found)), freedom), unpressed, tuple(after), even,
        answers.notes if asked is None else tuple(note for note in answers.notes if note in asked),
    )  # fmt: skip


def _seen(answers: Answers, readings: Readings, plain: Floats, speaks: Sequence[int]) -> list[Seen]:
    values, errors = readings.values(NAMES, answers.notes), readings.errors(NAMES, answers.notes)
    found = []
    for i, note in enumerate(answers.notes):
        scatter = answers.scatter(note) + np.diag(np.nan_to_num(errors[i], nan=1.0) ** 2)
        heard = code_of(readings.speech, note)
        found.append(Seen(values[i] - plain[i], scatter, np.nan_to_num(errors[i], nan=1.0), heard, speaks[i]))
    return found


def _scattering(seen: Sequence[Seen], good: Sequence[Floats], even: float) -> list[Seen]:
    """Notes that scatter by a factor on the variance that a good regulation leaves."""
    return [replace(one, scatter=one.scatter + (even - 1.0) * own) for one, own in zip(seen, good, strict=True)]
