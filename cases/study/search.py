"""Reading a search: what may vary of a case, what is wanted of it, and the limits that must hold."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from keyaction.cases.action.case import Case
from keyaction.cases.action.header import check_format, table_of
from keyaction.cases.action.strokes import NO_NOTE
from keyaction.cases.fields.compass import Compass
from keyaction.cases.fields.context import Context, Scope
from keyaction.cases.fields.csvfile import Shelf
from keyaction.cases.fields.tables import TableReader
from keyaction.cases.study.inputs import MATERIALS, STROKES, Input, Target
from keyaction.cases.study.reader import TOP
from keyaction.cases.study.vary import SEARCH, Vary
from keyaction.cases.study.whose import TABLE, study_case, study_notes, vary_rows
from keyaction.cases.text.defects import CaseProblem, Place
from keyaction.cases.text.near import hint
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Scalar
from keyaction.models.materials.library import default_library
from keyaction.models.notes import NoteProblem, note_name, parse_note
from keyaction.models.units.quantity import UnitProblem, parse_quantity

MOST_AIMS = 3
GENERATIONS, DESIGNS, SEED = 40, 32, 1
"""What a search takes unless something else is asked for."""
EVENNESS, COST = "evenness", "cost"
"""What may be wanted beside the quantities: steps from note to note, and the price of the rods."""
NONE = "none"
"""Among limits: those that usually hold do not."""
MEAN = "mean"
_SEARCH = "[search]"
_HEAD: tuple[Field, ...] = (
    Field("title", "what the search is for", kind="text"),
    Field("case", "a case file, or the name of a shipped case", kind="text"),
    Field("division", "of an instrument, which division", kind="text"),
    Field("notes", "which notes", kind="text"),
    Field("seed", "of the random numbers", kind="count", low=0, high=2**32 - 1, default=SEED),
)
_OF_SWEEP = ("quantities", "plan", "second_order", "levels", "base_points", "designs", "trajectories")
"""Fields of [study] that a sweep alone asks for."""
_FIELDS: tuple[Field, ...] = (
    Field("generations", "how many generations at most", kind="count", low=1, high=10_000, default=GENERATIONS),
    Field("designs", "designs of a generation", kind="count", low=8, high=10_000, default=DESIGNS),
    Field("prices", "prices a metre of the rods' materials", kind="text", default=""),
    Field("aims", "what is wanted", kind="text"),
    Field("limits", "what must hold", kind="text"),
)
_AIM = re.compile(r"\s*(?P<name>[^:@<>=]+?)\s*(?:@\s*(?P<where>[^:@<>=]+?)\s*)?(?::\s*(?P<sense>\w*)\s*)?")
_LIMIT = re.compile(
    r"\s*(?P<name>[^:@<>=]+?)\s*(?:@\s*(?P<where>[^:@<>=]+?)\s*)?(?P<sign><=|>=|<|>)\s*(?P<value>.+?)\s*"
)
_SENSES = ("min", "max")


@dataclass(frozen=True)
class Known:
    """A figure that may be wanted: SI unit, and whether more of it is usually wanted."""

    unit: str
    more: bool = False


@dataclass(frozen=True)
class Figure:
    """One number of a design.

    Attributes
    ----------
    name : str
        A quantity, ``evenness``, ``cost``, or an input that is a number.
    more : bool
        Whether more of it is better.
    note : int, optional
        At which note; None for the worst of all.
    mean : bool
        Whether it is the mean over the notes.
    unit : str
        SI.
    told : str
        As it was asked for.
    """

    name: str
    more: bool
    note: int | None = None
    mean: bool = False
    unit: str = ""
    told: str = ""


@dataclass(frozen=True)
class Limit:
    """A figure that must be at least, or at most, `value` (SI); `text` is how it was written."""

    figure: Figure
    value: float
    text: str
    usual: bool = False


@dataclass(frozen=True)
class Search:
    """A search that has been read and found sound.

    Attributes
    ----------
    path : Path
        The study file, or the case.
    data : mapping
        Its tables, with the options of the command in them.
    title : str
    case : Case
    notes : tuple of int
    inputs : tuple of Input
        What may vary; `levels` is 0 of a range without steps.
    aims : tuple of Figure
    limits : tuple of Limit
    prices : str
    seed, generations, designs : int
    """

    path: Path
    data: Mapping[str, Any]
    title: str
    case: Case
    notes: tuple[int, ...]
    inputs: tuple[Input, ...]
    aims: tuple[Figure, ...]
    limits: tuple[Limit, ...]
    prices: str
    seed: int
    generations: int
    designs: int

    def figures(self) -> tuple[Figure, ...]:
        """All that must be known of a design."""
        return (*self.aims, *(one.figure for one in self.limits))

    def meaning(self) -> dict[str, Any]:
        """All that its designs and figures depend on; not how many generations there are."""
        return {
            "notes": list(self.notes),
            "seed": self.seed,
            "designs": self.designs,
            "aims": [_plain(one) for one in self.aims],
            "limits": [[*_plain(one.figure), one.value] for one in self.limits],
            "prices": self.prices,
            "vary": [one.meaning() for one in self.inputs],
        }


def _plain(one: Figure) -> list[Any]:
    return [one.name, one.more, one.note, one.mean]


def read_search(
    path: Path, data: Mapping[str, Any], known: Mapping[str, Known], usual: Sequence[str], aims: Sequence[str]
) -> Search:
    """Read and check a search.

    Parameters
    ----------
    path : Path
        The file that it is in, from whose folder its case is named.
    data : mapping
        Its tables, as TOML gives them.
    known : mapping of name to Known
        Quantities that may be wanted.
    usual : sequence of str
        Limits that hold where none is given for the same figure.
    aims : sequence of str
        What is wanted where nothing is said.

    Raises
    ------
    CaseProblem
        With every defect of the search and its case.
    """
    place = Place(path.name, "", [])
    if not check_format(place, data):
        raise CaseProblem(path, place.log)
    for key in data:
        if key not in TOP:
            place.at(f"[{key}]").defect("", f"unknown table or field{hint(key, TOP)}")
    if "spreads" in data:
        place.at("[spreads]").defect("", "a search has no scatter; keyaction tolerances has")
    head = _table(place.at(TABLE), path, table_of(place, data, "study"), _HEAD, _OF_SWEEP)
    own = table_of(place, data, "search")
    values = _table(place.at(_SEARCH), path, own, _FIELDS, ("aims", "limits"))
    if "case" not in head:
        place.at(TABLE).defect("case", "missing; a case file beside the study, or the name of a shipped case")
    case = study_case(place, path, head, table_of(place, data, "set"))
    rows = vary_rows(place, data)
    if rows == []:
        place.at("[[vary]]").defect("", "nothing may vary; write one [[vary]] table, or --vary, for each input")
    if case is None:
        _texts(place.at(_SEARCH), own, "aims", aims)
        raise CaseProblem(path, place.log)
    notes = _notes(place, case, head)
    inputs = tuple(Vary(case, notes or case.compass, SEARCH, 0).read(place, rows or ()))
    _refuse_unbuilt(place, case, inputs)
    reader = _Figures(place.at(_SEARCH), case, notes, {**known, **_numbers(inputs)})
    wanted = reader.aims(_texts(reader.place, own, "aims", aims))
    limits = reader.limits(_texts(reader.place, own, "limits", ()), usual)
    prices = str(values.get("prices", ""))
    if not prices and any(one.name == COST for one in (*wanted, *(limit.figure for limit in limits))):
        reader.place.defect("prices", "missing; cost needs them: prices = 'sitka-spruce=1.20', or --price")
    if place.log:
        raise CaseProblem(path, place.log)
    title = str(head.get("title", case.title))
    counts = (int(head["seed"]), int(values["generations"]), int(values["designs"]))
    return Search(path, data, title, case, notes, inputs, wanted, limits, prices, *counts)


_OF_INSTRUMENT = "the instrument sets it for this division; take it out there, or leave it"


def _refuse_unbuilt(place: Place, case: Case, inputs: Sequence[Input]) -> None:
    """Refuse what could not be written into a case: a search is for what can be built."""
    common = {path for path, _ in case.within.settings} if case.within else set()
    for one in inputs:
        for target in one.reached:
            if why := _unbuilt(target) or _OF_INSTRUMENT * (target.path in common):
                place.at(f"[[vary]] {one.name}").defect(target.path, why)
    for path, _ in own_settings(case):
        if path.partition(".")[0] not in (STROKES, *(part.name for part in case.parts)):
            place.at("[set]").defect(path, "write it into the case that is searched")


def _unbuilt(target: Target) -> str:
    if target.place == MATERIALS:
        return "what a material is like is not chosen: let its name vary, with values; a sweep varies this"
    return "what is played is not built; a sweep varies it" if target.place == STROKES else ""


def own_settings(case: Case) -> tuple[tuple[str, Scalar], ...]:
    """What was set from outside, without what an instrument sets."""
    return case.settings[len(case.within.settings) if case.within else 0 :]


def _table(
    place: Place, path: Path, table: Mapping[str, object], fields: Sequence[Field], others: Sequence[str]
) -> Mapping[str, Scalar]:
    """Values of a table's fields; `others` are read elsewhere."""
    unknown = Compass.unknown("scientific")
    context = Context(unknown, default_library(), Shelf(path.parent, unknown, place.log))
    kept = {key: value for key, value in table.items() if key not in others}
    courses = TableReader(context, Scope((NO_NOTE,), SEARCH, fixed=True), place).read(fields, kept).courses
    return {name: course[NO_NOTE].value for name, course in courses.items() if NO_NOTE in course}


def _notes(place: Place, case: Case, head: Mapping[str, Scalar]) -> tuple[int, ...]:
    """The notes that are named; else the lowest, the middle and the highest."""
    if "notes" in head:
        return study_notes(place.at(TABLE), case, head["notes"])
    compass = case.compass
    return tuple(dict.fromkeys((compass[0], compass[len(compass) // 2], compass[-1])))


def _texts(place: Place, table: Mapping[str, object], key: str, usual: Sequence[str]) -> list[str]:
    value = table.get(key, list(usual))
    if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
        place.defect(key, "a list of texts is needed", value)
        return list(usual)
    return value


def _numbers(inputs: Sequence[Input]) -> dict[str, Known]:
    """Inputs that are numbers: less of a material, or of wind, may be wanted too."""
    return {one.name: Known(one.unit) for one in inputs if not one.chosen}


@dataclass(frozen=True)
class _Figures:
    """Reads aims and limits."""

    place: Place
    case: Case
    notes: tuple[int, ...]
    known: Mapping[str, Known]

    def aims(self, texts: Sequence[str]) -> tuple[Figure, ...]:
        found: list[Figure] = []
        for text in texts:
            one = self._aim(text)
            if one is not None and any(
                replace(one, told="", more=other.more) == replace(other, told="") for other in found
            ):
                self.place.defect("aims", "named twice; less or more of it can be wanted, not both", text)
            elif one is not None:
                found.append(one)
        if not texts:
            self.place.defect("aims", "none; name one to three, such as pluck_force, repetition_rate")
        if len(texts) > MOST_AIMS:
            told = (
                f"{len(texts)} aims; at most {MOST_AIMS}, or nearly every design is on the front: make limits of others"
            )
            self.place.defect("aims", told)
        return tuple(found)

    def _aim(self, text: str) -> Figure | None:
        found = _AIM.fullmatch(text)
        if found is None:
            self.place.defect("aims", "write NAME, NAME:min or NAME:max, NAME@NOTE or NAME@mean", text)
            return None
        sense = found["sense"]
        if sense is not None and sense not in _SENSES:
            self.place.defect("aims", f"'{sense}' is not a sense; min or max", text)
        return self._figure("aims", text, found["name"], found["where"], {"min": False, "max": True}.get(sense or ""))

    def limits(self, texts: Sequence[str], usual: Sequence[str]) -> tuple[Limit, ...]:
        own = [one for text in texts if text.strip() != NONE if (one := self._limit(text, False)) is not None]
        for one in own:
            same = [other for other in own if _plain(other.figure) == _plain(one.figure)]
            if same[0] is not one:
                self.place.defect("limits", f"given twice: {same[0].text}", one.text)
        if any(text.strip() == NONE for text in texts):
            return tuple(own)
        named = {one.figure.name for one in own}
        others = [self._limit(text, True) for text in usual]
        return (*own, *(one for one in others if one is not None and one.figure.name not in named))

    def _limit(self, text: str, usual: bool) -> Limit | None:
        found = _LIMIT.fullmatch(text)
        if found is None:
            self.place.defect("limits", "write NAME >= VALUE or NAME <= VALUE, such as repetition_rate >= 8 Hz", text)
            return None
        one = self._figure("limits", text, found["name"], found["where"], found["sign"].startswith(">"))
        if one is None:
            return None
        try:
            value = parse_quantity(found["value"], one.unit or "1")
        except UnitProblem as problem:
            self.place.defect("limits", str(problem), text)
            return None
        return Limit(one, value, f"{found['name']}{_at(found['where'])} {found['sign'][0]}= {found['value']}", usual)

    def _figure(self, key: str, text: str, name: str, where: str | None, more: bool | None) -> Figure | None:
        if name not in self.known:
            self.place.defect(key, f"unknown figure '{name}'{_meant(name, self.known)}", text)
            return None
        note, known = None, self.known[name]
        if where and where not in (MEAN, "worst"):
            try:
                note = parse_note(where, self.case.naming)
            except NoteProblem as problem:
                self.place.defect(key, f"{problem}; after @ stands a note, mean or worst", text)
                return None
            if note not in self.notes:
                names = ", ".join(note_name(one, self.case.naming) for one in self.notes[:8])
                self.place.defect(key, f"{where} is not among the notes that are played: {names}", text)
                return None
        if name == EVENNESS and not any(b - a == 1 for a, b in zip(self.notes, self.notes[1:], strict=False)):
            told = "evenness is told from neighbouring notes, of which none are chosen: name some, such as C4:G4"
            self.place.defect(key, told, text)
            return None
        told = f"{name}{_at(where)}"
        return Figure(name, known.more if more is None else more, note, where == MEAN, known.unit, told)


def _at(where: str | None) -> str:
    return f"@{where}" if where and where != "worst" else ""


def _meant(name: str, known: Mapping[str, Known]) -> str:
    """Names that hold what was written, else the nearest, else all."""
    words = re.split(r"[\s_-]+", name.lower())
    holding = [one for one in known if all(word in one.lower() for word in words)]
    if holding:
        return f"; did you mean {' or '.join(map(repr, holding))}?"
    return hint(name, known) or f"; known: {', '.join(known)}"
