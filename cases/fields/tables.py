"""A table of a case file against its list of fields, at any depth."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from dataclasses import field as new

from keyaction.cases.fields.context import Context, Course, Scope
from keyaction.cases.fields.courses import read_course
from keyaction.cases.text.defects import Place
from keyaction.cases.text.near import hint
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Given


@dataclass
class Reading:
    """What a table gives: the course of each dotted path, and the paths of the row lists it gives anew."""

    courses: dict[str, Course] = new(default_factory=dict)
    rows: list[str] = new(default_factory=list)


@dataclass(frozen=True)
class TableReader:
    """Reads the tables of one place of the file."""

    context: Context
    scope: Scope
    place: Place

    def read(self, fields: Sequence[Field], data: Mapping[str, object], prefix: str = "") -> Reading:
        """Read a table; defects go into the log of the place.

        Parameters
        ----------
        fields : sequence of Field
            What the table may hold.
        data : mapping
            As TOML gives it.
        prefix : str
            Dotted path of a nested table, with a dot at its end.

        Returns
        -------
        Reading
            Values given, and in a whole table the defaults of those not given.
        """
        reading = Reading()
        known = {one.name: one for one in fields}
        for key, value in data.items():
            if key not in known:
                self.place.defect(prefix + key, f"unknown field{hint(key, known)}", value)
        for one in fields:
            if one.name in data:
                read = _READERS.get(one.kind, TableReader._value)
                read(self, one, prefix + one.name, data[one.name], reading)
            elif self.scope.whole:
                reading.courses.update(defaults(one, prefix, self.scope.notes))
        return reading

    def _value(self, one: Field, path: str, value: object, reading: Reading) -> None:
        if self.scope.one_note and not one.varies:
            message = "this field holds for the whole compass; it cannot differ for one note"
            self.place.defect(path, message, value)
            return
        course = read_course(self.context, self.scope, self.place, one, path, value)
        if course:
            reading.courses[path] = course

    def _table(self, one: Field, path: str, value: object, reading: Reading) -> None:
        if not isinstance(value, dict):
            self.place.defect(path, f"a table is needed: {{ {_names(one)} }}", value)
            return
        self._merge(self.read(one.fields, value, f"{path}."), reading)

    def _rows(self, one: Field, path: str, value: object, reading: Reading) -> None:
        if not isinstance(value, list) or not all(isinstance(row, dict) for row in value):
            self.place.defect(path, f"a list of tables is needed: [ {{ {_names(one)} }} ]", value)
            return
        reading.rows.append(path)
        scope = replace(self.scope, whole=True)
        reader = TableReader(self.context, scope, self.place)
        for index, row in enumerate(value):
            if not row:
                self.place.defect(f"{path}.{index}", f"an empty row; give {_names(one)}")
            self._merge(reader.read(one.fields, row, f"{path}.{index}."), reading)

    @staticmethod
    def _merge(inner: Reading, reading: Reading) -> None:
        reading.courses.update(inner.courses)
        reading.rows.extend(inner.rows)


_READERS: Mapping[str, Callable[[TableReader, Field, str, object, Reading], None]] = {
    "table": TableReader._table,
    "rows": TableReader._rows,
}


def _names(one: Field) -> str:
    return ", ".join(f"{inner.name} = ..." for inner in one.fields)


def defaults(one: Field, prefix: str, notes: tuple[int, ...]) -> dict[str, Course]:
    """The defaults of a field that the case leaves out; a nested table's inner defaults hold as well."""
    if one.kind == "table":
        inner = [defaults(field, f"{prefix}{one.name}.", notes) for field in one.fields]
        return {path: course for courses in inner for path, course in courses.items()}
    if one.default is None:
        return {}
    given = Given(one.default, f"default: {one.source}" if one.source else "default", default=True)
    return {prefix + one.name: dict.fromkeys(notes, given)}


def paths(fields: Sequence[Field], prefix: str = "") -> Iterator[tuple[str, Field]]:
    """Every dotted path and its field; a row's number is written ``*``."""
    for one in fields:
        path = prefix + one.name
        if one.kind == "table":
            yield from paths(one.fields, f"{path}.")
        elif one.kind == "rows":
            yield from paths(one.fields, f"{path}.*.")
        else:
            yield path, one


def field_at(fields: Sequence[Field], path: str) -> Field | None:
    """The field with a single value at a dotted path ("leads.0.mass"), or None."""
    return finder(fields)(path)


def finder(fields: Sequence[Field]) -> Callable[[str], Field | None]:
    """`field_at` of these fields, for many paths."""
    known = dict(paths(fields))

    def found(path: str) -> Field | None:
        if "*" in path:
            return None
        return known.get(".".join("*" if step.isdecimal() else step for step in path.split(".")))

    return found
