"""The table of spreads: every measure of every part is in it, and every row says where it comes from."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from keyaction.cases.fields.tables import paths
from keyaction.models.fields.fields import Field
from keyaction.models.materials.library import default_library
from keyaction.models.materials.reading import STATUSES
from keyaction.models.parts import PARTS
from keyaction.models.parts.levers import Square
from keyaction.models.spreads.table import FORMS, MEASURES, Size, read_size, rows, spread_of, spread_of_material
from keyaction.models.units.quantity import UnitProblem

FIELDS = [(kind, path, field) for kind, part in PARTS.items() for path, field in paths(part.fields)]


@pytest.mark.parametrize(("kind", "path", "field"), FIELDS, ids=[f"{kind}.{path}" for kind, path, _ in FIELDS])
def test_every_measure_of_every_part_has_a_spread_and_nothing_else(kind, path, field):
    found = spread_of(PARTS[kind], path, field)
    if field.kind not in MEASURES:
        assert found is None
        return
    assert found is not None, f"{kind}.{path}: give it a row in models/spreads/spreads.toml"
    assert found.common.value or found.note.value
    assert all(
        0.0 <= size.value < math.inf and (not size.share or size.value <= 1.0) for size in (found.common, found.note)
    )


def test_every_row_is_used_and_says_where_it_comes_from():
    known = {path for _, path, _ in FIELDS} | {f"{kind}.{path}" for kind, path, _ in FIELDS}
    for row in rows():
        assert set(row.fields) <= known
        assert row.form in FORMS
        assert row.status in (*STATUSES, "assumed")
        assert row.source.strip()
        assert row.what.strip()
    named = [path for row in rows() for path in row.fields]
    assert len(named) == len(set(named))


def test_a_row_s_number_does_not_matter():
    mass = next(field for kind, path, field in FIELDS if (kind, path) == ("key", "leads.*.mass"))
    assert spread_of(PARTS["key"], "leads.3.mass", mass) == spread_of(PARTS["key"], "leads.*.mass", mass)


def test_a_part_made_from_another_has_its_spreads_and_a_strange_field_has_none():
    class Hung(Square):
        kind = "hung-square"

    arm = next(field for kind, path, field in FIELDS if (kind, path) == ("square", "in_arm"))
    assert spread_of(Hung, "in_arm", arm) == spread_of(Square, "in_arm", arm)
    assert spread_of(Hung, "swing", Field("swing", "a field of its own", "m")) is None
    # A size in mm says nothing of a field of that name in another unit.
    assert spread_of(Hung, "in_arm", Field("in_arm", "not a length", "N")) is None


def test_woods_scatter_as_published():
    # P. Niemz, Physik des Holzes und der Holzwerkstoffe, 1993, second-hand (a web page): coefficients of variation of
    # 22 % of E and 10 % of the density. Both parts together, which are independent, make that.
    spruce = default_library().get("norway-spruce")
    for what, total in (("E", 0.22), ("density", 0.10)):
        found = spread_of_material("wood", spruce[what])
        assert math.hypot(found.common.value, found.note.value) == pytest.approx(total, rel=1e-12)


@pytest.mark.parametrize("kind", ["wood", "composite", "metal", "cloth", "friction"])
def test_both_parts_of_a_material_make_its_spread(kind):
    library = default_library()
    for name in library.names(kind):
        for one in library.get(name).properties.values():
            if one.spread is not None and one.spread <= 1.0:
                found = spread_of_material(kind, one)
                assert math.hypot(found.common.value, found.note.value) == pytest.approx(one.spread, rel=1e-12)


LENGTH, NUMBER, WARMTH = Field("x", "", "m"), Field("x", "", kind="number"), Field("x", "", "K")


@pytest.mark.parametrize(
    ("text", "field", "size"),
    [
        ("3 %", LENGTH, Size(0.03, True)),
        ("0.2 mm", LENGTH, Size(0.2e-3, False)),
        (0.15, NUMBER, Size(0.15, False)),
        ("15 %", NUMBER, Size(0.15, True)),
        ("5 K", WARMTH, Size(5.0, False)),
        ("0 %", LENGTH, Size(0.0, True)),
    ],
)
def test_sizes_are_shares_or_have_the_field_s_unit(text, field, size):
    found = read_size(text, field)
    assert (found.value, found.share) == (pytest.approx(size.value), size.share)


@pytest.mark.parametrize(
    ("text", "field", "words"),
    [
        ("-3 %", LENGTH, "0 % to 100 %"),
        ("120 %", LENGTH, "0 % to 100 %"),
        ("-1 mm", LENGTH, "0 or more"),
        ("1 N", LENGTH, "a length is needed"),
        (3, LENGTH, "has no unit"),
        ("5 degC", WARMTH, "written in K"),
        (True, LENGTH, "not a quantity"),
        ("nan mm", LENGTH, "not a finite number"),
    ],
)
def test_sizes_that_are_none(text, field, words):
    with pytest.raises(UnitProblem, match=words):
        read_size(text, field)


def test_the_readme_has_the_table():
    text = (Path(__file__).parents[3] / "cases" / "README.md").read_text(encoding="utf-8")
    for row in rows():
        form = "even" if row.form == "even" else ""
        assert f"| {row.what} | {row.common} | {row.note} | {form} | {row.status} |\n" in text
