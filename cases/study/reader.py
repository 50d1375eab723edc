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
from keyaction.cases.action.reader import read_case
from keyaction.cases.action.strokes import NO_NOTE
from keyaction.cases.fields.compass import Compass
from keyaction.cases.fields.context import Context, Scope
from keyaction.cases.fields.csvfile import Shelf
from keyaction.cases.fields.tables import TableReader
from keyaction.cases.instrument.reader import is_instrument, read_instrument
from keyaction.cases.study.find import find_study
from keyaction.cases.study.inputs import Input, span_data
from keyaction.cases.study.plans import PLANS, SIZES, USUAL_LEVELS, check_size, size_fields, strange_sizes
from keyaction.cases.study.spreads import Piece, Uncertain, pieces_of, uncertain
from keyaction.cases.study.vary import Vary
from keyaction.cases.text.defects import CaseProblem, Defect, Place
from keyaction.cases.text.find import find_case, is_file
from keyaction.cases.text.flat import flattened
from keyaction.cases.text.near import hint
from keyaction.models.fields.fields import Field, choice
from keyaction.models.fields.values import Scalar
from keyaction.models.materials.library import default_library
from keyaction.models.notes import NoteProblem, parse_range
from keyaction.models.spreads.table import Spread

TOP = ("format", "study", "set", "vary", "spreads")
_TABLE = "[study]"
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
    head = _Head.read(place.at(_TABLE), path, table_of(place, data, "study"), quantities)
    case = _case(place, path, head, table_of(place, data, "set"))
    inputs: tuple[Input, ...] = ()
    doubts: tuple[Uncertain, ...] = ()
    notes: tuple[int, ...] = ()
    rows = _rows(place, data)
    if case is not None:
        notes = _notes(place.at(_TABLE), case, head.values.get("notes", "all"))
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


def _rows(place: Place, data: Mapping[str, object]) -> list[dict[str, object]] | None:
    """The [[vary]] tables; None if they are no such tables (which is recorded)."""
    value = data.get("vary", [])
    if isinstance(value, list) and all(isinstance(row, dict) for row in value):
        return value
    place.at("[[vary]]").defect("", "each input needs a table of its own, headed [[vary]] in double brackets")
    return None


def _case(place: Place, path: Path, head: _Head, table: Mapping[str, object]) -> Case | None:
    """The study's case with the values of [set] in it; its own defects join the study's."""
    wanted = head.values.get("case")
    if not isinstance(wanted, str):
        return None
    settings: list[tuple[str, Scalar]] = []
    for name, value in flattened(table):
        if isinstance(value, str | int | float):
            settings.append((name, value))
        else:
            place.at("[set]").defect(name, "one value is needed", value)
    beside = path.parent / wanted
    file = beside if is_file(beside) else find_case(wanted)
    division = head.values.get("division")
    if is_instrument(file):
        return _of_instrument(place, file, division, settings)
    if division is not None:
        place.at(_TABLE).defect("division", f"goes with an instrument; {wanted} is an action case", division)
    try:
        return read_case(file, set_=settings)
    except CaseProblem as problem:
        for one in problem.defects:
            if one.table == "set":
                place.log.append(_of_set(place, one))
            elif str(problem.path) == one.file and "no such file" in one.message:
                place.at(_TABLE).defect("case", one.message, wanted)
            else:
                place.log.append(one)
        return None


def _of_set(place: Place, one: Defect) -> Defect:
    """A defect of a value that the study sets, put where it stands."""
    return Defect(place.file, "[set]", one.field, one.value, one.message)


def _of_instrument(
    place: Place, file: Path, division: Scalar | None, settings: Sequence[tuple[str, Scalar]]
) -> Case | None:
    """The case of one division of an instrument, with the study's values in it."""
    try:
        divisions = read_instrument(file).divisions
    except CaseProblem as problem:
        place.log.extend(problem.defects)
        return None
    if division is None:
        message = f"missing; {file.name} is an instrument: name one of its divisions, {', '.join(divisions)}"
        place.at(_TABLE).defect("division", message)
        return None
    if division not in divisions:
        message = f"there is no such division{hint(str(division), divisions)}"
        place.at(_TABLE).defect("division", message, division)
        return None
    case = divisions[str(division)]
    try:
        return read_case(case.path, set_=settings, within=case.within) if settings else case
    except CaseProblem as problem:
        place.log.extend(_of_set(place, one) if one.table == "set" else one for one in problem.defects)
        return None


def _spreads(place: Place, case: Case, data: Mapping[str, object]) -> dict[str, Spread]:
    """The study's own [spreads]."""
    reach = {part.name: Reach(part.part.fields, part.fields) for part in case.parts}
    return read_spreads(place, table_of(place, data, "spreads"), reach, case.library)


def _notes(place: Place, case: Case, text: Scalar) -> tuple[int, ...]:
    try:
        return tuple(sorted(parse_range(str(text), case.compass, case.naming)))
    except NoteProblem as problem:
        place.defect("notes", str(problem))
        return ()
