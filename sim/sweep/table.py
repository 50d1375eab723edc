"""A table of changes to a case: the figures of all its rows at once, in lanes."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import select
from keyaction.cases.fields.kinds import from_text, read_scalar
from keyaction.cases.study.inputs import Input, Setting, Target, own_value, word
from keyaction.cases.study.reach import find_target
from keyaction.cases.study.spans import Choices
from keyaction.cases.text.defects import BadValue, CaseProblem, Defect, shown
from keyaction.cases.text.near import hint
from keyaction.models.fields.values import Scalar
from keyaction.models.notes import note_name
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.files.labelled import Result, Variable
from keyaction.sim.lanes.evaluate import available
from keyaction.sim.motion.integrate import Tolerances
from keyaction.sim.processes.count import counted, workers
from keyaction.sim.run.about import about
from keyaction.sim.sweep.designs import AS_IN_CASE, changed_design
from keyaction.sim.sweep.playing import CODED, Played, play_designs
from keyaction.sim.sweep.results import judged, judged_text

Row = Mapping[str, Any]


@dataclass(frozen=True)
class _Column:
    """One field of the table: what it is, and its value in each row, None where the case's own holds."""

    target: Target
    values: tuple[Scalar | None, ...]

    @property
    def input(self) -> Input:
        known = tuple(dict.fromkeys(value for value in self.values if value is not None))
        return Input(self.target.path, Choices(known), (self.target,))


def evaluate(
    case: Case | str | Path,
    notes: str | Sequence[int] | None,
    changes: Mapping[str, Any] | Sequence[Row] | Any,
    quantities: Iterable[str] | None = None,
    jobs: int = 0,
    sample: int = 3,
) -> Result:
    """Figures of many variants of a case at once.

    All rows are integrated together in lanes; SciPy plays a sample again and judges them.

    Parameters
    ----------
    case : Case, path or name
    notes : str or sequence of int, optional
        "C4", "C2:G4", a comma list, numbers; all by default.
    changes : mapping of field to column, sequence of mappings, or pandas.DataFrame
        A row for each variant: ``PART.FIELD``, ``strokes.FIELD`` or ``materials.NAME.PROPERTY`` with its value, as in
        `read_case`. In a mapping of columns a single value holds for every row. A missing entry (None, NaN)
        leaves what the case has; an empty row is the case itself.
    quantities : str or iterable of str, optional
        Name of a figure, or several; all that the lanes can give by default.
    jobs : int
        Threads; 0 means one per core.
    sample : int
        How many designs SciPy judges beside those in doubt, which it decides.

    Returns
    -------
    Result
        Figures over ``(design, note)``, SI, NaN where there is none; ``input_FIELD`` over ``design``; ``status`` ("ok",
        or why not) and ``repetition_limit`` over ``(design, note)``. ``about["judged"]`` is what SciPy says of the
        sample (JSON), ``about["methods"]`` the same in words.

    Raises
    ------
    keyaction.CaseProblem
        With every unknown field and refused value, by row, and the nearest name.
    keyaction.NoteProblem
        When `notes` is empty, or names a note that the case does not have.
    ValueError
        When the table is empty or its columns differ in length, a quantity is not known or none is named, or `jobs` or
        `sample` is below 0.

    Examples
    --------
    >>> import keyaction as ka
    >>> widths = {"roller.width": ["20 mm", "24 mm", "28 mm"]}
    >>> found = ka.evaluate("demo-wood", "C4", widths, ["pluck_point"], sample=1)
    >>> found["input_roller.width"].tolist()
    [0.02, 0.024, 0.028]
    >>> (1e3 * found["pluck_point"][:, 0]).round(1).tolist()  # mm: a stiffer roller plucks sooner
    [2.1, 2.0, 2.0]
    >>> found["status"][:, 0].tolist()
    ['ok', 'ok', 'ok']
    """
    workers(jobs)
    counted("sample", sample, "none")
    case = case if isinstance(case, Case) else read_case(case)
    names = known_quantities(quantities)
    numbers = select(case, notes)
    columns, count = _columns(case, _rows(changes))
    parts = [case.given(note) for note in numbers]
    rows = [_settings(columns, i) for i in range(count)]
    with np.errstate(all="ignore"):
        designs = [
            changed_design(parts, case.library, case.strokes, [(target, value, "value") for target, value in row])
            for row in rows
        ]
        played = play_designs(designs, names, sample, jobs)
    inputs = {f"input_{one.target.path}": _input(case, numbers, one) for one in columns}
    return Result(_axes(case, numbers, count) | inputs | _figures(played, names), _about(case, columns, played))


def known_quantities(quantities: Iterable[str] | None) -> list[str]:
    """Names of quantities that the lanes can give; all of them where none are named.

    Raises
    ------
    ValueError
        For an empty list, and for every name that is not known.
    """
    known = available()
    given = [quantities] if isinstance(quantities, str) else quantities
    names = list(known if given is None else given)
    if not names:
        raise ValueError("the list of quantities is empty; leave it out for all figures, or name at least one")
    wrong = [f"no figure '{name}'{hint(str(name), known)}" for name in names if name not in known]
    if wrong:
        raise ValueError("; ".join(wrong))
    return names


def _rows(changes: Any) -> list[Row]:
    """The table row by row; entries that are missing are left out."""
    if hasattr(changes, "columns") and hasattr(changes, "notna"):  # a DataFrame, without importing pandas
        changes = changes.astype(object).where(changes.notna(), None).to_dict("list")
    rows = _from_columns(changes) if isinstance(changes, Mapping) else list(changes)
    if not rows:
        raise ValueError("the table of changes has no row")
    wrong = [i for i, row in enumerate(rows) if not isinstance(row, Mapping)]
    if wrong:
        raise ValueError(f"row {wrong[0]} is no mapping of fields to values")
    return [{str(path): _plain(value) for path, value in row.items() if not _missing(value)} for row in rows]


def _from_columns(columns: Mapping[str, Any]) -> list[Row]:
    whole = {path: list(column) for path, column in columns.items() if not _single(column)}
    lengths = {path: len(column) for path, column in whole.items()}
    if len(set(lengths.values())) > 1:
        told = ", ".join(f"{path} {length}" for path, length in lengths.items())
        raise ValueError(f"the columns differ in length: {told}")
    count = next(iter(lengths.values()), 1 if columns else 0)
    whole |= {path: [value] * count for path, value in columns.items() if _single(value)}
    return [{path: column[i] for path, column in whole.items()} for i in range(count)]


def _single(column: Any) -> bool:
    return isinstance(column, str) or not isinstance(column, Iterable)


def _plain(value: Any) -> Any:
    """NumPy's own numbers as Python's."""
    return value.item() if isinstance(value, np.generic) else value


def _missing(value: Any) -> bool:
    return value is None or (isinstance(value, float) and np.isnan(value))


def _columns(case: Case, rows: Sequence[Row]) -> tuple[list[_Column], int]:
    """The table read against the case, or every defect of it."""
    defects: list[Defect] = []
    read = {path: _column(case, path, rows, defects) for path in dict.fromkeys(path for row in rows for path in row)}
    if defects:
        raise CaseProblem(case.path, defects)
    return [column for column in read.values() if column is not None], len(rows)


def _column(case: Case, path: str, rows: Sequence[Row], defects: list[Defect]) -> _Column | None:
    try:
        target = find_target(case, path)
    except BadValue as problem:
        defects.append(Defect(case.path.name, "changes", path, "", str(problem)))
        return None
    values: list[Scalar | None] = []
    for i, row in enumerate(rows):
        try:
            given = row.get(path)
            field = target.field
            values.append(None if given is None else read_scalar(field, from_text(field, given), case.library))
        except BadValue as problem:
            defects.append(Defect(case.path.name, f"changes, row {i}", path, shown(row[path]), str(problem)))
    return _Column(target, tuple(values))


def _settings(columns: Sequence[_Column], row: int) -> list[Setting]:
    given = [(column.target, column.values[row]) for column in columns]
    return [(target, value) for target, value in given if value is not None]


def _input(case: Case, notes: Sequence[int], column: _Column) -> Variable:
    """A field's values as a column; where the case's own holds, that, if it is a single one."""
    one = column.input
    own = own_value(case, tuple(notes), one)
    found = [own if value is None else value for value in column.values]
    if one.chosen:
        texts = [AS_IN_CASE if value is None else word(value) for value in found]
        return Variable(("design",), np.array(texts, dtype=object), "", one.doc)
    numbers = np.array([np.nan if value is None else float(value) for value in found])
    return Variable(("design",), numbers, one.unit, one.doc)


def _axes(case: Case, notes: Sequence[int], count: int) -> dict[str, Variable]:
    names = np.array([note_name(note, case.naming) for note in notes], dtype=object)
    return {
        "design": Variable(("design",), np.arange(count), "", "row of the table"),
        "note": Variable(("note",), names, "", "note"),
        "semitone": Variable(("note",), np.array(notes), "", "semitone number, C4 = 60"),
    }


def _figures(played: Played, names: Sequence[str]) -> dict[str, Variable]:
    described = {name: (q.unit, q.label, q.definition) for name, q in QUANTITIES.items()}
    dims, shape = ("design", "note"), played.values.shape[:2]
    found = {name: Variable(dims, played.values[:, :, k], *described[name]) for k, name in enumerate(names)}
    for name, texts in played.words.items():
        found[name] = Variable(dims, np.array(texts, dtype=object).reshape(shape), "", CODED[name])
    return found


def _about(case: Case, columns: Sequence[_Column], played: Played) -> dict[str, str]:
    inputs = [{**column.input.meaning(), "unit": column.input.unit, "doc": column.input.doc} for column in columns]
    told = judged(played.checks)
    return about(case, Tolerances()) | {
        "inputs": json.dumps(inputs),
        "judged": json.dumps(told),
        "methods": f"many designs at once, in one compiled step; {judged_text(told)}",
    }
