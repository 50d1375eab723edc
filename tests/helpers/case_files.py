"""A small registry of parts and a sound case for the tests of the reader."""

from __future__ import annotations

from pathlib import Path

import pytest

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.text.defects import CaseProblem, Defect
from keyaction.models.fields.fields import Field, choice, length, table
from keyaction.models.parts.base import Part


class Lever(Part):
    """Every kind of field once."""

    kind = "lever"
    title = "lever"
    role = "lever"
    fields = (
        choice("style", "two words", "balanced", "hung"),
        length("front", "a length", low=0.01, high=0.5, usual=(0.1, 0.4), source="common practice"),
        length("width", "another", high=0.1),
        Field("moment", "one that may be negative", unit="N*m", low=-1.0, high=1.0),
        Field("ratio", "a plain number", kind="number", low=0.0, high=2.0),
        Field("pieces", "a whole number", kind="count", low=0, high=20, default=3, source="from memory"),
        Field("wood", "a material", kind="material"),
        Field("bushed", "yes or no", kind="flag"),
        Field("remark", "words", kind="text"),
        table(
            "pin",
            "nested",
            length("diameter", "of the pin", high=0.03),
            Field("friction", "pair", kind="material", default="cloth-on-pin", source="common practice"),
        ),
        Field(
            "leads",
            "rows",
            kind="rows",
            fields=(
                Field("mass", "of one", unit="kg", positive=True, high=1.0),
                Field("at", "its place", unit="m", low=-1.0, high=1.0, default=0.1),
            ),
        ),
    )


class Bar(Part):
    """A part with one field."""

    kind = "bar"
    title = "bar"
    role = "rod"
    fields = (length("length", "its length", low=0.02, high=2.0),)


PARTS: dict[str, type[Part]] = {"lever": Lever, "bar": Bar}

HEAD = """format = 1
[case]
title = "Test"
[compass]
low = "C2"
high = "C4"
"""

LEVER = """[[train]]
part = "lever"
"""


def read(folder: Path, text: str, **options: object) -> Case:
    """Write `text` as demo.toml and read it with the small registry."""
    path = folder / "demo.toml"
    path.write_text(text, encoding="utf-8")
    return read_case(path, PARTS, **options)  # type: ignore[arg-type]


def lever(folder: Path, fields: str, more: str = "", **options: object) -> Case:
    """Read a case with one lever that has these fields."""
    return read(folder, f"{HEAD}{LEVER}{fields}\n{more}", **options)


def defects(folder: Path, text: str, **options: object) -> list[Defect]:
    """The defects of a case that must be refused."""
    with pytest.raises(CaseProblem) as caught:
        read(folder, text, **options)
    assert str(caught.value) == "\n".join(str(one) for one in caught.value.defects)
    return caught.value.defects


def only(folder: Path, fields: str, more: str = "", **options: object) -> Defect:
    """The single defect of a case with one lever that has these fields."""
    found = defects(folder, f"{HEAD}{LEVER}{fields}\n{more}", **options)
    assert len(found) == 1, "\n".join(map(str, found))
    return found[0]


def check(defect: Defect, table: str, field: str, value: str, *words: str) -> None:
    """The defect stands where it should and says these words."""
    assert (defect.file, defect.table, defect.field, defect.value) == ("demo.toml", table, field, value)
    for word in words:
        assert word in defect.message, defect.message
