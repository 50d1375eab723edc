"""The [[vary]] tables of a study: which fields, and how each may vary."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from keyaction.cases.action.case import Case
from keyaction.cases.fields.allowed import allowed_range, inside, written
from keyaction.cases.fields.kinds import read_scalar
from keyaction.cases.study.inputs import Input, Setting, Target, own_value, own_values
from keyaction.cases.study.reach import find_target
from keyaction.cases.study.spans import Choices, Normal, Range, Span
from keyaction.cases.text.defects import BadValue, Place
from keyaction.cases.text.flat import flattened
from keyaction.cases.text.near import hint
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Scalar
from keyaction.models.notes import note_name

KEYS = (
    "field",
    "fields",
    "name",
    "low",
    "high",
    "spacing",
    "mean",
    "sd",
    "values",
    "options",
    "scale",
    "scale_sd",
    "levels",
)
_WAYS = {"low": "low", "high": "low", "mean": "mean", "sd": "mean"} | {
    name: name for name in ("values", "options", "scale", "scale_sd")
}
"""Which way of varying each key belongs to."""
_SAY = (
    "say how it varies: low and high; mean and sd; values = [...]; [vary.options.NAME] tables; "
    "scale = [0.9, 1.1]; or scale_sd"
)
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]*")
_LEVELS = (2, 1000)
SEARCH = "search"
"""In place of a plan, where an optimiser chooses the designs: a range has levels only where it says so."""
_GRIDDED = ("grid", "one-at-a-time", SEARCH)


@dataclass(frozen=True)
class Vary:
    """Reads the [[vary]] tables of one study."""

    case: Case
    notes: tuple[int, ...]
    plan: str
    levels: int

    def read(self, place: Place, rows: Sequence[Mapping[str, object]]) -> list[Input]:
        """The inputs; defects go into the log of `place`."""
        found = [self._row(place.at(f"[[vary]] {_label(row, number)}"), row) for number, row in enumerate(rows, 1)]
        inputs = [one for one in found if one is not None]
        for name, times in Counter(one.name for one in inputs).items():
            if times > 1:
                place.at(f"[[vary]] {name}").defect("name", f"{times} inputs have this name; names must differ", name)
        reached = Counter(target.path for one in inputs for target in one.reached)
        for path, times in reached.items():
            if times > 1:
                place.at("[[vary]]").defect(path, f"varied by {times} tables; a field can follow one input only")
        return inputs

    def _row(self, place: Place, row: Mapping[str, object]) -> Input | None:
        before = len(place.log)
        for key, value in row.items():
            if key not in KEYS:
                place.defect(key, f"unknown field{hint(key, KEYS)}", value)
        ways = list(dict.fromkeys(_WAYS[key] for key in row if key in _WAYS))
        if len(ways) != 1:
            place.defect("", _SAY if not ways else f"varies in {len(ways)} ways at once; {_SAY}")
        if "options" in row:
            return self._options(place, row, before)
        if "spacing" in row and not {"low", "high", "scale"} & set(row):
            place.defect("spacing", "has a meaning only with low and high, or scale", row["spacing"])
        targets = self._targets(place, row)
        self._levels(place, row, ways)
        if len(place.log) > before:
            return None
        span = self._span(place, row, ways[0], targets)
        if span is None or len(place.log) > before:
            return None
        factor = ways[0] in ("scale", "scale_sd")
        self._check_reach(place, row, span, targets, factor)
        name = self._name(place, row, targets[0].path)
        found = Input(name, span, targets, factor, (), self._count(row, span))
        if self.plan == "one-at-a-time" and not found.chosen and own_value(self.case, self.notes, found) is None:
            message = "the case has no single value to start from here: vary one field at one note, or use scale"
            place.defect("field", message, targets[0].path)
        return found

    # -- fields ----------------------------------------------------------------------------------------
    def _targets(self, place: Place, row: Mapping[str, object]) -> tuple[Target, ...]:
        if ("field" in row) == ("fields" in row):
            place.defect("field", 'give either field = "PART.FIELD" or fields = [...]')
            return ()
        key = "field" if "field" in row else "fields"
        given = row[key] if key == "fields" else [row[key]]
        if not isinstance(given, list) or not given or not all(isinstance(one, str) for one in given):
            place.defect(key, "text in quotes is needed" if key == "field" else "a list of texts is needed", row[key])
            return ()
        found = []
        for path in given:
            try:
                found.append(find_target(self.case, path))
            except BadValue as problem:
                place.defect(key, str(problem), path)
        if len({(one.field.kind, one.field.unit) for one in found}) > 1:
            place.defect(key, "fields that vary together must be of one kind and unit; use [vary.options.NAME] tables")
        return tuple(found)

    def _name(self, place: Place, row: Mapping[str, object], usual: str) -> str:
        name = row.get("name", usual)
        if not isinstance(name, str) or not _NAME.fullmatch(name):
            place.defect("name", "a name of letters, digits, spaces, dots and hyphens is needed", name)
        return str(name)

    # -- spans -----------------------------------------------------------------------------------------
    def _span(self, place: Place, row: Mapping[str, object], way: str, targets: tuple[Target, ...]) -> Span | None:
        field = targets[0].field
        if way != "values" and field.kind not in ("quantity", "number"):
            place.defect("", f"{targets[0].path} is a {field.kind}: give values = [...]")
            return None
        if way == "low":
            return self._range(place, row, field)
        if way == "mean":
            return self._normal(place, row, field)
        if way == "values":
            return self._choices(place, row, targets)
        return self._scale(place, row, way)

    def _both(self, place: Place, row: Mapping[str, object], first: str, second: str) -> bool:
        for key in (first, second):
            if key not in row:
                place.defect(key, f"missing; {first} and {second} belong together")
        return first in row and second in row

    def _one(self, place: Place, key: str, field: Field, value: object) -> float | None:
        try:
            return float(read_scalar(field, value, self.case.library))
        except BadValue as problem:
            place.defect(key, str(problem), value)
            return None

    def _range(self, place: Place, row: Mapping[str, object], field: Field) -> Span | None:
        if not self._both(place, row, "low", "high"):
            return None
        low, high = (self._one(place, key, field, row[key]) for key in ("low", "high"))
        log = self._log(place, row)
        if low is None or high is None:
            return None
        if low >= high:
            place.defect("high", f"empty range: not above low = {row['low']}", row["high"])
        elif log and low <= 0:
            place.defect("low", 'spacing = "log" needs values above zero', row["low"])
        return Range(low, high, log)

    def _log(self, place: Place, row: Mapping[str, object]) -> bool:
        spacing = row.get("spacing", "linear")
        if spacing not in ("linear", "log"):
            place.defect("spacing", 'unknown; allowed: "linear", "log"', spacing)
        return spacing == "log"

    def _normal(self, place: Place, row: Mapping[str, object], field: Field) -> Span | None:
        if not self._both(place, row, "mean", "sd"):
            return None
        self._refuse_levels_of_normal(place)
        width = Field("sd", "standard deviation", field.unit, field.kind, positive=True)
        if field.unit == "K" and "deg" in str(row["sd"]):
            place.defect("sd", "a difference of temperatures is written in K", row["sd"])
            return None
        mean, sd = self._one(place, "mean", field, row["mean"]), self._one(place, "sd", width, row["sd"])
        return None if mean is None or sd is None else Normal(mean, sd)

    def _scale(self, place: Place, row: Mapping[str, object], way: str) -> Span | None:
        value = row[way]
        if way == "scale_sd":
            self._refuse_levels_of_normal(place)
            sd = self._one(place, way, Field(way, "", kind="number", positive=True, high=0.33), value)
            return None if sd is None else Normal(1.0, sd)
        if not isinstance(value, list) or len(value) != 2:
            place.defect(way, "two factors are needed, such as [0.9, 1.1]", value)
            return None
        number = Field(way, "", kind="number", positive=True, high=1000.0)
        low, high = (self._one(place, way, number, one) for one in value)
        if low is None or high is None:
            return None
        if low >= high:
            place.defect(way, f"empty range: {high:g} is not above {low:g}")
        return Range(low, high, row.get("spacing") == "log")

    def _refuse_levels_of_normal(self, place: Place) -> None:
        if self.plan == SEARCH:
            place.defect("", "a search needs ends: give low and high, scale, or values")
        elif self.plan in _GRIDDED:
            place.defect("", f'plan = "{self.plan}" has levels: give low and high, scale, or values')

    def _choices(self, place: Place, row: Mapping[str, object], targets: tuple[Target, ...]) -> Span | None:
        values = row["values"]
        if not isinstance(values, list) or not values:
            place.defect("values", "empty range: a list of values is needed", values)
            return None
        found: list[Scalar] = []
        for value in values:
            try:
                found.append(read_scalar(targets[0].field, value, self.case.library))
            except BadValue as problem:
                place.defect("values", str(problem), value)
                continue
            if found[-1] in found[:-1]:
                place.defect("values", "given twice", value)
        return Choices(tuple(found))

    # -- choices with settings of their own ------------------------------------------------------------
    def _options(self, place: Place, row: Mapping[str, object], before: int) -> Input | None:
        tables = row["options"]
        for key in ("field", "fields", "spacing", "levels"):
            if key in row:
                place.defect(key, "has no meaning beside options, which name their own fields", row[key])
        if "name" not in row:
            place.defect("name", "missing; options need a name for the input")
        if not isinstance(tables, dict) or not tables:
            place.defect("options", "empty range: a table for each choice is needed: [vary.options.NAME]", tables)
            return None
        settings = tuple(self._settings(place, name, table) for name, table in tables.items())
        name = self._name(place, row, "options")
        if len(place.log) > before:
            return None
        return Input(name, Choices(tuple(tables)), settings=settings, levels=len(tables))

    def _settings(self, place: Place, name: str, table: object) -> tuple[Setting, ...]:
        if not isinstance(table, dict) or not table:
            place.defect(f"options.{name}", "a table of fields and values is needed", table)
            return ()
        found = []
        for path, value in flattened(table):
            try:
                target = find_target(self.case, path)
                found.append((target, read_scalar(target.field, value, self.case.library)))
            except BadValue as problem:
                place.defect(f"options.{name}.{path}", str(problem), value)
        return tuple(found)

    # -- levels and reach ------------------------------------------------------------------------------
    def _levels(self, place: Place, row: Mapping[str, object], ways: Sequence[str]) -> None:
        if "levels" not in row:
            return
        value = row["levels"]
        low, high = _LEVELS
        if self.plan and self.plan not in _GRIDDED:
            place.defect("levels", f'has no meaning with plan = "{self.plan}"', value)
        elif "values" in ways:
            place.defect("levels", "has no meaning beside values", value)
        elif not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
            place.defect("levels", f"a whole number is needed; allowed: {low} to {high}", value)

    def _count(self, row: Mapping[str, object], span: Span) -> int:
        if isinstance(span, Choices):
            return len(span.values)
        levels = row.get("levels", self.levels)
        return levels if isinstance(levels, int) else self.levels

    def _check_reach(
        self, place: Place, row: Mapping[str, object], span: Span, targets: tuple[Target, ...], factor: bool
    ) -> None:
        """Refuse a span that leaves a field's allowed range at any note, as far as its ends tell."""
        if isinstance(span, Choices):
            return
        for target in targets:
            given = own_values(self.case, self.notes, target)
            bases = {note: float(value) for note, value in given.items()} if factor else dict.fromkeys(self.notes, 1.0)
            lacking = [note for note in self.notes if note not in bases]
            if lacking:
                name = note_name(lacking[0], self.case.naming)
                place.defect("field", f"the case gives no value to scale at {name}", target.path)
                continue
            reach = [(end * base, note) for note, base in bases.items() for end in span.ends]
            bad = next(((value, note) for value, note in reach if not inside(target.field, value)), None)
            if bad is not None:
                key = next(key for key in ("high", "sd", "scale", "scale_sd") if key in row)
                at = f" at {note_name(bad[1], self.case.naming)}" if factor else ""
                message = f"takes {target.path} to {written(target.field, bad[0])}{at}; {allowed_range(target.field)}"
                place.defect(key, message, row[key])


def _label(row: Mapping[str, object], number: int) -> str:
    for key in ("name", "field"):
        if isinstance(row.get(key), str):
            return str(row[key])
    fields = row.get("fields")
    return str(fields[0]) if isinstance(fields, list) and fields else f"number {number}"
