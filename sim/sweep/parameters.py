"""Figures of one note for a matrix of its equations' parameters."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import one_note, train_of
from keyaction.cases.text.near import hint
from keyaction.models.algebra.names import Name
from keyaction.models.notes import note_name
from keyaction.models.train.bounds import bound_told
from keyaction.models.train.train import Train
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.files.labelled import Result, Variable
from keyaction.sim.lanes.evaluate import Outcome
from keyaction.sim.lanes.evaluate import evaluate as evaluate_trains
from keyaction.sim.motion.integrate import Tolerances
from keyaction.sim.motion.note import NoteModel, with_parameters
from keyaction.sim.processes.count import counted, workers
from keyaction.sim.run.about import about
from keyaction.sim.sweep.playing import CODED, in_words
from keyaction.sim.sweep.table import known_quantities

Columns = dict[str, NDArray[np.float64]]


def evaluate_parameters(
    case: Case | str | Path,
    note: str | int,
    parameters: Mapping[str, ArrayLike] | ArrayLike,
    quantities: Iterable[str] | None = None,
    jobs: int = 0,
    sample: int = 3,
) -> Result:
    """Figures of one note for many sets of its equations' parameters.

    Where `evaluate` changes what a case says, this changes the numbers of the equations themselves, and nothing that a
    part derives from its sizes follows. All rows are integrated together in lanes; SciPy plays a sample again.

    Parameters
    ----------
    case : Case, path or name
    note : str or int
        "C4", or 60.
    parameters : mapping of str to (N,) array_like, or (N, np) array_like
        Parameters by name, as `equations` lists them, SI; a single number holds for every row. Or a matrix with all of
        them, in the order of ``NoteModel.parameters()``.
    quantities : str or iterable of str, optional
        As for `evaluate`.
    jobs : int
        Threads; 0 means one per core.
    sample : int
        How many rows SciPy judges.

    Returns
    -------
    Result
        Figures over ``(design, note)``, SI; ``input_NAME`` over ``design`` of every parameter that was given;
        ``status`` and ``repetition_limit`` over ``(design, note)``.

    Raises
    ------
    ValueError
        For unknown names (with the nearest), columns of different length, a matrix of another width, numbers that are
        not finite or that such a parameter cannot have (a mass below nothing), no row at all, a `sample` below 0, or an
        unknown quantity.
    keyaction.NoteProblem
        When the case has no such note.

    Examples
    --------
    >>> import keyaction as ka
    >>> found = ka.evaluate_parameters("demo-wood", "C4", {"K_roller": [40.0, 80.0]}, ["pluck_point"], sample=0)
    >>> (1e3 * found["pluck_point"][:, 0]).round(1).tolist()  # mm: a stiffer roller plucks sooner
    [2.3, 2.1]
    """
    workers(jobs)
    counted("sample", sample, "none")
    case = case if isinstance(case, Case) else read_case(case)
    number = one_note(case, note) if isinstance(note, str) else note
    names = known_quantities(quantities)
    train = train_of(case, number)
    kernel = NoteModel(train).kernel()
    known = dict(zip(kernel.spellings, kernel.parameters, strict=True))
    columns = _columns(parameters, known)
    _refuse_impossible(train, known, columns)
    trains = _trains(train, known, columns)
    with np.errstate(all="ignore"):
        outcome = evaluate_trains(trains, case.strokes, names, jobs, sample)
    texts = about(case, Tolerances()) | {"methods": "; ".join(map(str, outcome.checks))}
    inputs = {
        f"input_{text}": Variable(
            ("design",), column, train.parameters[known[text]].unit, train.parameters[known[text]].doc
        )
        for text, column in columns.items()
    }
    axes = {
        "design": Variable(("design",), np.arange(len(trains)), "", "row of the table"),
        "note": Variable(("note",), np.array([note_name(number, case.naming)], dtype=object), "", "note"),
        "semitone": Variable(("note",), np.array([number]), "", "semitone number, C4 = 60"),
    }
    return Result(axes | inputs | _figures(outcome, names), texts | {"parameters": json.dumps(list(columns))})


def _columns(given: Any, known: Mapping[str, Name]) -> Columns:
    """The parameters as columns of one length."""
    if isinstance(given, Mapping):
        unknown = [f"no parameter '{text}'{hint(text, known)}" for text in given if text not in known]
        if unknown:
            raise ValueError("; ".join(unknown))
        table = {text: np.asarray(column, dtype=np.float64) for text, column in given.items()}
    else:
        matrix = np.asarray(given, dtype=np.float64)
        if matrix.ndim != 2 or matrix.shape[1] != len(known):
            raise ValueError(f"a matrix of {matrix.shape} has no column for each of {len(known)} parameters")
        table = dict(zip(known, matrix.T, strict=True))
    lengths = {text: len(column) for text, column in table.items() if column.ndim == 1}
    if any(column.ndim > 1 for column in table.values()) or len(set(lengths.values())) > 1:
        told = ", ".join(f"{text} {column.shape}" for text, column in table.items())
        raise ValueError(f"the columns differ in length: {told}")
    count = next(iter(lengths.values()), 1 if table else 0)
    if not count:
        raise ValueError("the table of parameters has no row")
    endless = [text for text, column in table.items() if not np.all(np.isfinite(column))]
    if endless:
        raise ValueError(f"{', '.join(endless)}: every number must be finite")
    return {text: np.array(np.broadcast_to(column, count)) for text, column in table.items()}


def _refuse_impossible(train: Train, known: Mapping[str, Name], columns: Columns) -> None:
    """Refuse values that a parameter of its kind cannot have, all of them at once."""
    told = []
    for text, column in columns.items():
        parameter = train.parameters[known[text]]
        wrong = [i for i, value in enumerate(column) if bound_told(parameter, float(value))]
        if wrong:
            value = float(column[wrong[0]])
            more = f" and {len(wrong) - 1} more" if len(wrong) > 1 else ""
            told.append(f"{text} = {value:g} (row {wrong[0]}{more}): {bound_told(parameter, value)}")
    if told:
        raise ValueError("; ".join(told))


def _trains(train: Train, known: Mapping[str, Name], columns: Columns) -> list[Train]:
    """A train for each row; only parameters that differ from the train's own are set."""
    moved = {text: one for text, one in columns.items() if np.any(one != train.parameters[known[text]].value)}
    count = len(next(iter(columns.values())))
    return [with_parameters(train, known, {text: float(one[i]) for text, one in moved.items()}) for i in range(count)]


def _figures(outcome: Outcome, names: list[str]) -> dict[str, Variable]:
    dims, usable = ("design", "note"), np.array([status == "ok" for status in outcome.status])
    found = {}
    for name in names:
        one, values = QUANTITIES[name], np.where(usable, outcome.quantities[name], np.nan)
        found[name] = Variable(dims, values[:, None], one.unit, one.label, one.definition)
    for name, told in in_words(outcome).items():
        found[name] = Variable(dims, np.array(told, dtype=object)[:, None], "", CODED[name])
    return found
