"""A year of a division as a result over notes, which pictures and scripts read."""

from __future__ import annotations

import warnings

import numpy as np

from keyaction.sim.figures.verdict import Fate
from keyaction.sim.files.labelled import Result, Variable
from keyaction.sim.motion.integrate import Floats, Tolerances
from keyaction.sim.run.about import about
from keyaction.sim.seasons.months import days_of, wood_mean
from keyaction.sim.seasons.season import LABELS, DivisionSeason, NoteSeason

ENDS = ("low", "high", "dry", "damp")
"""Ends of the names of a figure's least and greatest over the year, and of it on the driest and the dampest day."""


def season_result(season: DivisionSeason) -> Result:
    """What a year does to the notes of a division, as labelled arrays.

    Parameters
    ----------
    season : DivisionSeason

    Returns
    -------
    Result
        Over ``note``: of every figure F of `LABELS` its least and greatest over the year, ``F_low`` and ``F_high``, and
        what it is on the days of `extremes`, ``F_dry`` and ``F_damp``; NaN where there is none. ``cipher_days``,
        ``mute_days``. ``verdict`` tells of notes that sound unplayed or do not speak when they are played, ``status``
        of those without figures.
    """
    notes = list(season.notes.values())
    dry, damp = extremes(season)
    variables = {
        "note": _texts([one.name for one in notes]),
        "semitone": Variable(("note",), np.array([one.note for one in notes], dtype=np.int64)),
        "status": _texts([f"failed: {one.failed}" if one.failed else "ok" for one in notes]),
        "verdict": _texts([_verdict(season, one) for one in notes]),
        "balanced": Variable(("note",), np.array([one.balanced for one in notes])),
        "cipher_days": Variable(("note",), np.array([float(cipher_days(season, one)) for one in notes]), "", "days"),
        "mute_days": Variable(("note",), np.array([float(mute_days(season, one)) for one in notes]), "", "days"),
    }
    for name, (unit, label, told) in LABELS.items():
        courses = season.over(name)
        for end, values in zip(ENDS, (*span(courses), courses[:, dry], courses[:, damp]), strict=True):
            variables[f"{name}_{end}"] = Variable(("note",), values, unit, label, told)
    return Result(variables, about(season.case, Tolerances()))


def extremes(season: DivisionSeason) -> tuple[int, int]:
    """Instants at which the wood is driest and dampest, the mean of all members and rods; of the air without wood."""
    wood = wood_mean(season.moisture)
    course = season.year.humidity if wood is None else wood
    return int(np.argmin(course)), int(np.argmax(course))


def span(courses: Floats) -> tuple[Floats, Floats]:
    """Least and greatest over the year of courses (notes, D); NaN where a note has no figure at any instant."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # of rows of NaN, which are meant
        return np.nanmin(courses, axis=-1), np.nanmax(courses, axis=-1)


def unplayed(season: DivisionSeason, one: NoteSeason) -> np.ndarray:
    """At which instants a note sounds unplayed, (D,) of bool."""
    margin = one.figures.get("margin")
    return np.zeros(len(season.year), dtype=bool) if margin is None else np.asarray(margin < 0.0)


def cipher_days(season: DivisionSeason, one: NoteSeason) -> int:
    """On how many days of the climate a note sounds unplayed."""
    return days_of(season.year, unplayed(season, one))


def mute_at(season: DivisionSeason, one: NoteSeason) -> np.ndarray:
    """At which instants a note does not speak when it is played, (D,) of bool."""
    return np.asarray(one.mute, dtype=bool) if len(one.mute) else np.zeros(len(season.year), dtype=bool)


def mute_days(season: DivisionSeason, one: NoteSeason) -> int:
    """On how many days of the climate a note does not speak when it is played."""
    return days_of(season.year, mute_at(season, one))


def _verdict(season: DivisionSeason, one: NoteSeason) -> str:
    if one.failed:
        return ""
    mute = mute_at(season, one)
    if one.cipher >= 0:
        fate, first, count = Fate.CIPHER, one.cipher, cipher_days(season, one)
    elif np.any(mute):
        fate, first, count = Fate.MUTE, int(np.argmax(mute)), mute_days(season, one)
    else:
        return str(Fate.SPEAKS.value)
    return f"{fate.value}: first on {season.year.when(first)}, {count} day{'s' if count != 1 else ''} in all"


def _texts(words: list[str]) -> Variable:
    return Variable(("note",), np.array(words, dtype=object))
