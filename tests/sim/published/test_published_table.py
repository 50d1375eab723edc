"""The table as a whole: every file of the room is in it, a broken law shows, and the sheets are what was computed."""

import csv
import io
from importlib import import_module
from pathlib import Path

import pytest

import keyaction.sim.published as room
from keyaction.models.formulas import sections, wood
from keyaction.sim.published import rods
from keyaction.sim.published import wood as published_wood
from keyaction.sim.published.observation import TRUST
from keyaction.sim.published.table import FILES, observations, outcomes, source_sheets, summary, whole_sheet


def test_every_file_with_observations_is_in_the_table():
    names = [path.stem for path in Path(room.__file__).parent.glob("*.py") if path.stem != "__init__"]
    found = {f"{room.__name__}.{name}" for name in names}
    with_rows = {name for name in found if hasattr(import_module(name), "OBSERVATIONS")}
    assert with_rows == {file.__name__ for file in FILES}


def test_a_broken_law_shows(monkeypatch):
    right = sections.wave_speed
    monkeypatch.setattr(sections, "wave_speed", lambda modulus, density: 1.001 * right(modulus, density))
    found = outcomes(rods.OBSERVATIONS)
    missed = {one.of.quantity for one in found if not one.holds}
    assert missed == {quantity for quantity in (one.of.quantity for one in found) if quantity.startswith("wave in ")}


def test_ours_are_computed_and_not_kept(monkeypatch):
    monkeypatch.setattr(published_wood, "moisture_content", lambda temperature, humidity: 0.1)  # noqa: ARG005
    found = [one for one in outcomes(published_wood.OBSERVATIONS) if one.of.subject == published_wood.MOISTURE]
    assert {one.ours for one in found} == {10.0}
    assert sum(one.holds for one in found) < len(found) / 2
    assert wood.moisture_content(293.15, 0.5) != 0.1


@pytest.fixture(scope="module")
def some():
    return outcomes(published_wood.OBSERVATIONS)


def test_each_is_told_before_it_is_computed(some):
    heard = []
    outcomes(published_wood.OBSERVATIONS[:3], heard.append)
    assert heard == [one.of for one in some[:3]]


def test_the_sheets_hold_every_row_under_its_source(some):
    sheets = source_sheets(some)
    assert sum(len(sheet.rows) for sheet in sheets) == len(some)
    first = some[0].of
    assert sheets[0].name == first.subject
    assert sheets[0].title == f"{first.source.cite} [{first.source.trust}]"
    assert sheets[0].rows[0][0] == first.quantity


def test_the_file_holds_numbers_to_ten_digits(some):
    read = list(csv.DictReader(io.StringIO(whole_sheet(some).csv())))
    assert len(read) == len(some)
    for line, one in zip(read, some, strict=True):
        assert float(line["ours"]) == pytest.approx(one.ours, rel=1e-9)
        assert (line["source"], line["trust"], line["holds"]) == (one.of.source.cite, one.of.source.trust, "yes")
        if line["difference"]:
            difference = one.ours - float(line["published"])
            assert float(line["difference"]) == pytest.approx(difference, rel=5e-5, abs=1e-12)  # five digits


def test_the_summary_counts(some):
    lines = summary(some)
    sources = len({one.of.source for one in some})
    assert lines[0] == f"{len(some)} observations of {sources} sources; 0 not met."
    read = sum(one.of.source.trust == "read" for one in some)
    assert f"read (read in the original): {read} of {read} met" in lines


def test_all_kinds_of_trust_are_in_use():
    assert {row.source.trust for row in observations()} == set(TRUST)


def test_nothing_is_too_long_for_its_column():
    from keyaction.sim.commands.published import WIDTHS

    for row in observations():
        published = f"{row.figure.published()} {row.unit}".strip()
        for text, width in zip((row.quantity, published), WIDTHS, strict=False):
            assert len(text) <= width, text
        assert len(row.figure.allowed()) <= WIDTHS[-1], row.quantity
