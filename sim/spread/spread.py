"""The spread of a result's figures, computed and put beside them."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from functools import partial

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.cases.study.spreads import without_spread
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.figures.columns import OVER_COMPASS, QUANTITIES
from keyaction.sim.figures.evenness import JUST_NOTICEABLE, evenness, felt_steps
from keyaction.sim.figures.stand_for import standing_for
from keyaction.sim.files.labelled import Result, Variable
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.processes.tasks import NoProcesses, in_processes
from keyaction.sim.spread import DRAWS, FEWEST, MOST
from keyaction.sim.spread.bands import curves, quantile_errors, quantiles
from keyaction.sim.spread.budget import budget
from keyaction.sim.spread.drawing import Drawn, Draws, draw

SHARES = np.array([0.05, 0.5, 0.95])
"""Quantiles that are kept."""
SAMPLES = 200
"""Key travels at which the band of a feel curve is kept."""
MOST_CURVES = 1000
"""Draws of which feel curves are pressed."""
CHUNK = 10
"""Draws whose feel curves are one task, and inputs that are moved in one."""
_ERROR = "standard error of the quantile, from the draws themselves (Maritz and Jarrett 1978)"
_FIRST_ORDER = (
    "One standard deviation, to first order: half of what the pluck force changes as the input alone goes from one "
    "standard deviation below to one above. Independent inputs add up as their squares do."
)

Progress = Callable[[str, int, int], None]
"""Told what is being done, and how many of how many are done."""


@dataclass(frozen=True)
class _Task:
    """Some draws of one note to be pressed at `travel`; without it, some inputs to be moved."""

    draws: Draws
    travel: Floats | None
    start: int
    stop: int

    @property
    def note(self) -> int:
        return self.draws.recipe.notes[0]


def with_spread(
    result: Result,
    case: Case,
    draws: int = DRAWS,
    seed: int = 1,
    jobs: int = 1,
    progress: Progress | None = None,
) -> Result:
    """A result with the spread of its figures beside them.

    Everything that is uncertain about the case is drawn: what all notes share once for each draw, and what each note
    has of its own note by note. All figures but repetition rates are computed in every draw.

    Parameters
    ----------
    result : Result
        Of `run`, with the notes that are wanted.
    case : Case
        The case that it is of.
    draws : int
        How many, 2 to 10000.
    seed : int
        Of the random numbers: the same seed gives the same draws.
    jobs : int
        Processes; 0 means one per core. A script that uses more than one keeps its calls under
        ``if __name__ == "__main__":``, as Python's multiprocessing demands.
    progress : callable, optional
        Told what is being done, how many are done and how many there are.

    Returns
    -------
    Result
        Of every figure drawn also ``NAME_spread`` over ``(note, quantile)`` and its standard errors,
        ``NAME_spread_error``; ``pluck_force_deviation``, the standard deviation of the draws; ``step_felt``, the share
        of draws in which the step from the note below can be felt, and ``sound_share``, that in which the note speaks
        and falls silent, over ``note``; ``steps_felt`` and ``steps_known`` over ``draw``; for at most three notes
        ``feel_down_band`` and ``feel_up_band`` over ``(spread_note, quantile, band_sample)``, the draws laid over each
        other pluck on pluck, and what each input adds to the pluck force, to first order, ``pluck_force_common`` and
        ``pluck_force_own`` over ``(spread_note, spread_input)``.

    Raises
    ------
    ValueError
        When the result is of another case or of coupled notes, or there are too few draws or too many.
    keyaction.sim.code.no_numba.NoNumba
        When Numba cannot be used.
    keyaction.sim.processes.tasks.NoProcesses
        When every process dies at once.

    Examples
    --------
    >>> import keyaction as ka
    >>> case = ka.read_case("demo-wood")
    >>> result = ka.with_spread(ka.run(case, "C4"), case, draws=10)
    >>> low, middle, high = result["pluck_force_spread"][0]  # N; 5, 50 and 95 % of the draws lie below
    >>> bool(low < middle < high)
    True
    """
    if (
        result.about.get("case_text") != case.text
        or json.loads(result.about.get("case_settings", "[]")) != [list(setting) for setting in case.settings]
        or result.about.get("division", "") != case.division
    ):
        raise ValueError(f"the result is not of this case, {case.path.name}")
    if "coupled" in result.about:
        raise ValueError(
            f"the result is of notes with couplers drawn ({result.about['coupled']}); draws are of notes alone"
        )
    if not FEWEST <= draws <= MOST:
        raise ValueError(f"{draws} draws: {FEWEST} to {MOST} are possible")
    need_numba()
    notes = [int(note) for note in result["semitone"]]
    drawing = Draws.of(case, notes, draws, seed)
    told = _teller(progress)
    drawn = draw(drawing, jobs, partial(told, "drawing"))
    sound = [status == "ok" for status in result["status"]]
    found = _figures(notes, drawn)
    if any(sound):
        found |= _closer(result, drawing, standing_for(notes, sound), jobs, told)
    about = {"draws": draws, "seed": seed, "without": without_spread(case)}
    return Result({**result.variables, **found}, {**result.about, "spread": json.dumps(about)})


def _teller(progress: Progress | None) -> Progress:
    return progress or (lambda words, done, total: None)  # noqa: ARG005


def _figures(notes: Sequence[int], drawn: Drawn) -> dict[str, Variable]:
    """Quantiles of the figures of all notes, and their steps from note to note."""
    numbers = np.array(notes)
    found = {"quantile": Variable(("quantile",), SHARES, "", "share of the draws that lies below")}
    steps, known, felt = felt_steps(numbers, drawn.values["pluck_force"])
    rows = {**QUANTITIES, **OVER_COMPASS}
    for name, values in {**drawn.values, evenness.__name__: steps}.items():
        one = rows[name]
        label, definition = f"{one.label}, drawn", f"{one.definition} Quantiles of all draws that have it."
        found[f"{name}_spread"] = Variable(
            ("note", "quantile"), quantiles(values, SHARES).T, one.unit, label, definition
        )
        found[f"{name}_spread_error"] = Variable(
            ("note", "quantile"), quantile_errors(values, SHARES).T, one.unit, f"{label}: {_ERROR}"
        )
    found["pluck_force_deviation"] = Variable(
        ("note",), _deviations(drawn.values["pluck_force"]), "N", "standard deviation of the pluck force of all draws"
    )
    shares = np.where(known.any(axis=0), felt.sum(axis=0) / np.maximum(known.sum(axis=0), 1), np.nan)
    told = f"share of draws in which the step of the pluck force from the note below exceeds {JUST_NOTICEABLE:.0%}"
    found["step_felt"] = Variable(("note",), shares, "", told)
    sound = "share of draws in which the note speaks when it is played and falls silent when it is let go"
    found["sound_share"] = Variable(("note",), drawn.sound.mean(axis=0), "", sound)
    found["draw"] = Variable(("draw",), np.arange(len(steps)), "", "number of the draw")
    beyond = f"steps between neighbours that exceed {JUST_NOTICEABLE:.0%}"
    found["steps_felt"] = Variable(("draw",), felt.sum(axis=1), "", beyond)
    found["steps_known"] = Variable(("draw",), known.sum(axis=1), "", "steps between neighbours that both pluck")
    return found


def _deviations(values: Floats) -> Floats:
    """Standard deviations of the draws of every note; NaN of fewer than two."""
    known = np.isfinite(values)
    count = known.sum(axis=0)
    mean = np.where(known, values, 0.0).sum(axis=0) / np.maximum(count, 1)
    squares = np.where(known, (values - mean) ** 2, 0.0).sum(axis=0)
    return np.where(count > 1, np.sqrt(squares / np.maximum(count - 1, 1)), np.nan)


def _closer(result: Result, drawing: Draws, rows: Sequence[int], jobs: int, told: Progress) -> dict[str, Variable]:
    """Bands of the feel curves, and where the spread comes from, of some notes."""
    place = {drawing.recipe.notes[row]: i for i, row in enumerate(rows)}
    ways = {note: _ways(result, row) for note, row in zip(place, rows, strict=True)}
    pressed = np.full((len(rows), min(drawing.plan.count, MOST_CURVES), 2, SAMPLES), np.nan)
    moved = np.full((len(rows), len(drawing.doubts), 2), np.nan)
    for task, found in _done(list(_tasks(drawing, ways)), jobs, told):
        table = moved if task.travel is None else pressed
        table[place[task.note], task.start : task.stop] = found
    names = np.array([result.notes[row] for row in rows], dtype=object)
    shown = {"spread_note": Variable(("spread_note",), names, "", "note that is shown closer")}
    return shown | _bands(np.array(list(ways.values())), pressed) | _origins(drawing, moved)


def _tasks(drawing: Draws, ways: Mapping[int, Floats]) -> Iterator[_Task]:
    for note, way in ways.items():
        one = drawing.at(note)
        for travel, count in ((way, min(drawing.plan.count, MOST_CURVES)), (None, len(drawing.doubts))):
            for start in range(0, count, CHUNK):
                yield _Task(one, travel, start, min(start + CHUNK, count))


def _ways(result: Result, row: int) -> Floats:
    """Key travels from rest to where the slow press of the case itself ends."""
    way = result["feel_down_travel"][row] if "feel_down_travel" in result else np.zeros(1)
    end = float(np.nanmax(way)) if np.any(np.isfinite(way)) else 0.0
    return np.linspace(0.0, end, SAMPLES)


def _bands(ways: Floats, pressed: Floats) -> dict[str, Variable]:
    bands = np.array([quantiles(one, SHARES) for one in pressed])
    found = {
        "band_sample": Variable(("band_sample",), np.arange(SAMPLES), "", "sample along the band of the feel curve"),
        "band_travel": Variable(("spread_note", "band_sample"), ways, "m", "key travel of the band"),
    }
    for k, way in enumerate(("down", "up")):
        label = f"key force, slow press {way}: quantiles of all draws, laid over each other pluck on pluck"
        found[f"feel_{way}_band"] = Variable(("spread_note", "quantile", "band_sample"), bands[:, :, k], "N", label)
    return found


def _origins(drawing: Draws, moved: Floats) -> dict[str, Variable]:
    names = np.array([one.name for one in drawing.doubts], dtype=object)
    sources = np.array([one.spread.told for one in drawing.doubts], dtype=object)
    dims, words = ("spread_note", "spread_input"), "what an input adds to the spread of the pluck force"
    return {
        "spread_input": Variable(("spread_input",), names, "", "what is uncertain"),
        "spread_source": Variable(("spread_input",), sources, "", "where its spread comes from"),
        "pluck_force_common": Variable(dims, moved[:, :, 0], "N", f"{words}, at all notes together", _FIRST_ORDER),
        "pluck_force_own": Variable(dims, moved[:, :, 1], "N", f"{words}, at the note alone", _FIRST_ORDER),
    }


def _work(task: _Task) -> tuple[_Task, Floats]:
    if task.travel is not None:
        return task, curves(task.draws, task.travel, task.start, task.stop)
    parts = budget(task.draws.recipe, task.draws.doubts[task.start : task.stop])
    return task, np.array([(one.common, one.own) for one in parts])


def _given_up(task: _Task) -> tuple[_Task, Floats | None]:
    return task, None


def _done(tasks: Sequence[_Task], jobs: int, told: Progress) -> Iterator[tuple[_Task, Floats]]:
    """Tasks with what came of them, as they come.

    Raises
    ------
    NoProcesses
        When the process of one died twice.
    """
    processes = min(jobs or os.cpu_count() or 1, len(tasks))
    with closing(in_processes(_work, tasks, processes, _given_up)) as results:  # type: ignore[type-var]
        for number, (task, found) in enumerate(results, 1):
            if found is None:
                raise NoProcesses
            told("looking closer", number, len(tasks))
            yield task, found
