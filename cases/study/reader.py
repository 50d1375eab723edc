"""Reading a study: which designs of a case are to be computed, and what of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from keyaction.cases.action.case import Case
from keyaction.cases.action.header import opened, table_of
from keyaction.cases.action.own_spreads import TABLE as SPREADS
from keyaction.cases.action.own_spreads import Reach, read_spreads
from keyaction.cases.action.strokes import NO_NOTE
from keyaction.cases.fields.compass import Compass
from keyaction.cases.fields.context import Context, Scope
from keyaction.cases.fields.csvfile import Shelf
from keyaction.cases.fields.tables import TableReader
from keyaction.cases.study.find import find_study
from keyaction.cases.study.inputs import Input, span_data
from keyaction.cases.study.plans import PLANS, SIZES, USUAL_LEVELS, check_size, size_fields, strange_sizes
from keyaction.cases.study.spreads import Piece, Uncertain, pieces_of, uncertain
from keyaction.cases.study.vary import Vary
from keyaction.cases.study.whose import TABLE, study_case, study_notes, vary_rows
from keyaction.cases.text.defects import CaseProblem, Place
from keyaction.cases.text.near import hint
from keyaction.models.fields.fields import Field, choice
from keyaction.models.fields.values import Scalar
from keyaction.models.materials.library import default_library
from keyaction.models.spreads.table import Spread

TOP = ("format", "study", "set", "vary", "spreads", "search")
_FIELDS: tuple[Field, ...] = (
    Field("title", "what the study is", kind="text"),
    Field("case", "a case file, or the name of a shipped case", kind="text"),
    Field("division", "of an instrument, which division", kind="text"),
    Field("notes", "which notes", kind="text", default="all"),
    choice("plan", "how the designs are chosen", *PLANS),
    Field("seed", "of the random numbers", kind="count", low=0, high=2**32 - 1, default=1),
    Field("second_order", "sobol: pairs of inputs too", kind="flag", default=False),
    Field("levels", "levels of each range", kind="count", low=2, high=1000),
)


@dataclass(frozen=True)
class Study:
    """A study that has been read and found sound.

    Parameters
    ----------
    path, text
        The study file.
    title : str
    case : Case
        With the study's [set] values in it.
    notes : tuple of int
    quantities : tuple of str
    plan : str
        One of `PLANS`.
    size : int
        Base points, trajectories or designs, as `SIZES` has it; 0 where it follows from the plan's levels.
    seed : int
    second_order : bool
    levels : int
        Levels of the Morris plan.
    inputs : tuple of Input
    pieces : tuple of Piece
        What each note of a design has its own deviation of.
    """

    path: Path
    text: str
    title: str
    case: Case
    notes: tuple[int, ...]
    quantities: tuple[str, ...]
    plan: str
    size: int
    seed: int
    second_order: bool
    levels: int
    inputs: tuple[Input, ...]
    pieces: tuple[Piece, ...] = ()

    def meaning(self) -> dict[str, Any]:
        """All of the study that its figures depend on, without the size of its plan."""
        return {
            "plan": self.plan,
            "seed": self.seed,
            "second_order": self.second_order,
            "levels": self.levels,
            "notes": list(self.notes),
            "quantities": list(self.quantities),
            "vary": [one.meaning() for one in self.inputs],
            **({"pieces": [_told(one) for one in self.pieces]} if self.pieces else {}),
        }


def _told(piece: Piece) -> list[Any]:
    """A piece as plain data."""
    return [piece.part, piece.path, span_data(piece.deviation)]


def read_study(path_or_name: str | Path, quantities: Sequence[str]) -> Study:
    """Read and check a study.

    Parameters
    ----------
    path_or_name : str or Path
        A study file, or the name of a study that ships with the program.
    quantities : sequence of str
        The quantities that there are.

    Returns
    -------
    Study

    Raises
    ------
    CaseProblem
        If anything is wrong with the study or its case; it lists every defect.
    """
    path = find_study(path_or_name)
    text, data, place = opened(path)
    for key in data:
        if key not in TOP:
            place.at(f"[{key}]").defect("", f"unknown table or field{hint(key, TOP)}")
    head = _Head.read(place.at(TABLE), path, table_of(place, data, "study"), quantities)
    case = study_case(place, path, head.values, table_of(place, data, "set"))
    inputs: tuple[Input, ...] = ()
    doubts: tuple[Uncertain, ...] = ()
    notes: tuple[int, ...] = ()
    rows = vary_rows(place, data)
    if case is not None:
        notes = study_notes(place.at(TABLE), case, head.values.get("notes", "all"))
        vary = Vary(case, notes or case.compass, head.plan, head.levels)
        inputs = tuple(vary.read(place, rows or ()))
        own = _spreads(place, case, data)
        if "spreads" in data and head.plan not in ("tolerances", ""):
            place.at(SPREADS).defect("", f'has no meaning with plan = "{head.plan}"')
        if head.plan == "tolerances" and not place.log:
            doubts = uncertain(case, notes, own, frozenset(t.path for one in inputs for t in one.reached))
            inputs += tuple(one.input for one in doubts if one.common.size)
    if rows == [] and head.plan != "tolerances":
        place.at("[[vary]]").defect("", "nothing varies; write one [[vary]] table for each input")
    if place.log or case is None:
        raise CaseProblem(path, place.log)
    return Study(
        path,
        text,
        str(head.values.get("title", path.stem)),
        case,
        notes,
        head.quantities,
        head.plan,
        int(head.values.get(SIZES.get(head.plan, ""), 0)),
        int(head.values["seed"]),
        bool(head.values["second_order"]),
        head.levels,
        inputs,
        pieces_of(doubts),
    )


@dataclass(frozen=True)
class _Head:
    """The [study] table; `plan` is empty where it cannot be read."""

    values: Mapping[str, Scalar]
    quantities: tuple[str, ...]
    plan: str

    @property
    def levels(self) -> int:
        return int(self.values.get("levels", USUAL_LEVELS.get(self.plan, 2)))

    @classmethod
    def read(cls, place: Place, path: Path, table: Mapping[str, object], known: Sequence[str]) -> _Head:
        unknown = Compass.unknown("scientific")
        context = Context(unknown, default_library(), Shelf(path.parent, unknown, place.log))
        kept = {key: value for key, value in table.items() if key not in ("quantities", *strange_sizes(table))}
        fields = (*_FIELDS, *size_fields(table), Field("quantities", "which quantities", kind="text"))
        courses = TableReader(context, Scope((NO_NOTE,), "study", fixed=True), place).read(fields, kept).courses
        values = {name: course[NO_NOTE].value for name, course in courses.items()}
        head = cls(values, _quantities(place, table, known), str(values.get("plan", "")))
        head._check(place, table)
        return head

    def _check(self, place: Place, table: Mapping[str, object]) -> None:
        if "case" not in table:
            place.defect("case", "missing; a case file beside the study, or the name of a shipped case")
        if "plan" not in table:
            place.defect("plan", f"missing; one of {', '.join(PLANS)}")
        if not self.plan:
            return
        check_size(place, table)
        if "levels" in table and self.plan not in USUAL_LEVELS:
            place.defect("levels", f'has no meaning with plan = "{self.plan}"', table["levels"])
        if self.plan == "morris" and self.levels % 2:
            place.defect("levels", "an even number is needed for a Morris plan", table["levels"])
        if table.get("second_order") is True and self.plan != "sobol":
            place.defect("second_order", f'has no meaning with plan = "{self.plan}"', True)


def _quantities(place: Place, table: Mapping[str, object], known: Sequence[str]) -> tuple[str, ...]:
    if "quantities" not in table:
        return tuple(known)
    value = table["quantities"]
    if not isinstance(value, list) or not value or not all(isinstance(one, str) for one in value):
        place.defect("quantities", 'a list of names is needed, such as ["pluck_force", "repetition_rate"]', value)
        return ()
    for name in dict.fromkeys(value):
        if name not in known:
            place.defect("quantities", f"unknown quantity{hint(name, known) or '; known: ' + ', '.join(known)}", name)
        elif value.count(name) > 1:
            place.defect("quantities", "given twice", name)
    return tuple(value)


def _spreads(place: Place, case: Case, data: Mapping[str, object]) -> dict[str, Spread]:
    """The study's own [spreads]."""
    reach = {part.name: Reach(part.part.fields, part.fields) for part in case.parts}
    return read_spreads(place, table_of(place, data, "spreads"), reach, case.library)
