"""What is odd about a sheet is told in words, and of a sound one nothing is."""

import re
from dataclasses import replace

import numpy as np
import pytest

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import sound_trains
from keyaction.cases.measured.sheet import read_sheet
from keyaction.models.readings.figures import NAMES
from keyaction.models.readings.readings import Head, Reading, Readings
from keyaction.sim.measuring.computed import as_measured, computed, drawn_levels
from keyaction.sim.measuring.knobs import changed, one_of
from keyaction.sim.measuring.noticed import noticed
from keyaction.sim.measuring.synthetic import read_off

GF = 9.80665e-3
WATER = 9.80665


@pytest.fixture(scope="module")
def case():
    return read_case("demo-wood")


@pytest.fixture(scope="module")
def trains(case):
    return sound_trains(case, case.compass[::5])


@pytest.fixture(scope="module")
def levels(case, trains):
    return drawn_levels(list(trains.values()), case.strokes)


@pytest.fixture(scope="module")
def drawn(case, trains, levels):
    return computed(list(trains.values()), case.strokes).from_level(levels)


@pytest.fixture
def head(case):
    return Head(case=case.title, key=case.fingerprint[:8], pressure=70 * WATER)


def moved(readings, figure, change):
    rows = tuple(replace(one, value=change(one.value)) if one.figure == figure else one for one in readings.rows)
    return replace(readings, rows=rows)


def told(readings, case, drawn):
    return noticed(readings, case, drawn, notes=tuple(case.compass[::5]))


def test_of_a_sound_sheet_nothing_is_said(case, trains, drawn, head):
    said = [told(read_off(list(trains), drawn, seed, head), case, drawn) for seed in range(100)]
    assert sum(map(bool, said)) <= 3  # six orders at 3 sd of a one-sided error, at 12 notes


def test_the_shipped_sheet_is_sound(case):
    readings = read_sheet("demo-wood", case.compass)
    trains = [as_measured(one, readings.head) for one in sound_trains(case, readings.notes).values()]
    found = computed(trains, case.strokes).from_level(drawn_levels(trains, case.strokes))
    assert noticed(readings, case, found) == []


def test_wind_off_read_as_wind_on(case, trains, drawn, head):
    readings = read_off(list(trains), drawn, 1, head)
    off = {(one.note, one.figure): one.value for one in readings.rows}
    rows = tuple(
        replace(one, value=off[one.note, f"{one.figure}_off"]) if f"{one.figure}_off" in NAMES else one
        for one in readings.rows
        if not one.figure.endswith("_off")
    )
    (line,) = told(replace(readings, rows=rows), case, drawn)
    assert line.startswith(
        "Measured with the wind off, or hardly any, under wind on? The plucks under wind on of 12 of"
    )
    median = float(re.search(r"wind off: ([\d.]+) gf \(median\)", line)[1])
    assert median == pytest.approx(float(np.median(drawn["pluck_off"])) / GF, abs=3)


def test_columns_that_changed_places(case, trains, drawn, head):
    readings = read_off(list(trains), drawn, 1, head)
    swap = {name: f"{name}_off" for name in ("pluck", "hold", "up")}
    swap |= {other: name for name, other in swap.items()}
    rows = tuple(replace(one, figure=swap.get(one.figure, one.figure)) for one in readings.rows)
    (line,) = told(replace(readings, rows=rows), case, drawn)
    assert line.startswith("Wind on and wind off have changed places")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"case": "Another"}, []),  # its key is this case's: the title alone was written over
        ({"case": "Another", "key": "00000000"}, ["another case: 'Another', and this is 'Invented manual"]),
        ({"case": "Another", "key": ""}, ["another case: 'Another'"]),
        ({"key": "00000000"}, ["has been changed since", "its key was 00000000 and is 77d508fa now"]),
        ({"case": "", "key": ""}, []),
        ({"pressure": float("nan")}, ["gives no pressure: the case's 70 mmH2O is taken"]),
    ],
)
def test_what_the_head_says(case, trains, drawn, head, change, words):
    lines = told(read_off(list(trains), drawn, 1, replace(head, **change)), case, drawn)
    assert len(lines) == bool(words)
    assert all(word in lines[0] for word in words)


def test_another_pressure_is_told_and_computed(case, trains, levels, head):
    head = replace(head, pressure=80 * WATER)
    at = [as_measured(one, head) for one in trains.values()]
    found = computed(at, case.strokes).from_level(levels)
    (line,) = told(read_off(list(trains), found, 1, head), case, found)
    assert line == "Measured at 80 mmH2O, and the case has 70 mmH2O: computed at the sheet's 80 mmH2O."


def test_a_pressure_that_nobody_wrote_down_is_worked_out(case, trains, levels, drawn, head):
    at = [as_measured(one, replace(head, pressure=78 * WATER)) for one in trains.values()]
    found = computed(at, case.strokes).from_level(levels)
    lines = told(read_off(list(trains), found, 1, head), case, drawn)
    (line,) = [one for one in lines if "in the box would explain it" in one]
    assert float(re.search(r"A pressure of ([\d.]+) mmH2O", line)[1]) == pytest.approx(78, abs=1)


def test_all_levels_low_are_a_rail(case, trains, levels, drawn, head):
    lower = [changed(one, [(one_of(one, "rest"), 1.2e-3)]) for one in trains.values()]
    found = computed(lower, case.strokes).from_level(levels)
    lines = told(read_off(list(trains), found, 1, head), case, drawn)
    (line,) = [one for one in lines if "level" in one]
    assert "rail or another common adjuster before any nut" in line
    by, way = re.search(r"level ([\d.]+) mm (lower|higher)", line).groups()
    shift = float(np.median(found["level"]))
    assert float(by) == pytest.approx(abs(shift) * 1e3, abs=0.2)
    assert way == ("higher" if shift > 0 else "lower")
    assert abs(shift) > 0.5e-3


@pytest.mark.parametrize(
    ("figure", "factor", "words"),
    [
        ("pluck", 1 / 101.97, "newtons written in a column of gf?"),
        ("pluck", 1 / 28.35, "ounces written in a column of gf?"),
        ("dip", 1 / 25.4, "inches written in a column of mm?"),
        ("dip", 0.1, "centimetres written in a column of mm?"),
    ],
)
def test_another_unit_than_the_column_has(case, trains, drawn, head, figure, factor, words):
    readings = moved(read_off(list(trains), drawn, 1, head), figure, lambda value: value * factor)
    assert any(words in line for line in told(readings, case, drawn))


@pytest.mark.parametrize(
    ("figure", "value", "words"),
    [
        ("up", 90 * GF, "as if friction helped"),
        ("hold", 200 * GF, "holding takes more than plucking"),
        ("play", 5e-3, "the play ends after the pluck point"),
        ("point", 13e-3, "the pluck point lies below the bottom"),
        ("pluck_off", 180 * GF, "plucks heavier with the wind off"),
    ],
)
def test_figures_that_cannot_be_together(case, trains, drawn, head, figure, value, words):
    readings = read_off(list(trains), drawn, 3, head)
    note = list(trains)[6]
    rows = tuple(
        replace(one, value=value) if (one.note, one.figure) == (note, figure) else one for one in readings.rows
    )
    lines = told(replace(readings, rows=rows), case, drawn)
    assert any(line.startswith("F#4: ") and words in line for line in lines)


def test_readings_that_disagree(case, trains, drawn, head):
    readings = read_off(list(trains), drawn, 3, head)
    note = next(iter(trains))
    more = Reading(note, "pluck", readings.values(["pluck"], [note])[0, 0] + 30 * GF)
    (line,) = told(replace(readings, rows=(*readings.rows, more)), case, drawn)
    assert line.startswith("C2: readings of pluck disagree, ")
    assert "where the balance reads to 2 gf" in line


def test_a_sheet_of_one_note_or_one_column(case, trains, drawn, head):
    readings = read_off(list(trains), drawn, 3, head)
    one = replace(readings, rows=tuple(row for row in readings.rows if row.note == 36), speech={})
    assert noticed(one, case, drawn, notes=list(trains)) == []
    column = replace(readings, rows=tuple(row for row in readings.rows if row.figure == "dip"), speech={})
    assert told(column, case, drawn) == []
    assert noticed(Readings(head), case, drawn, notes=list(trains)) == []


@pytest.mark.parametrize(
    ("kind", "amount", "words"),
    [
        ("friction", 0.15, "more friction at the key would explain it"),
        ("spring", 0.2, "more of spring, or of key weight"),
    ],
)
def test_what_all_notes_share_is_named(case, trains, levels, drawn, head, kind, amount, words):
    every = [changed(one, [(one_of(one, kind), amount)]) for one in trains.values()]
    found = computed(every, case.strokes).from_level(levels)
    (line,) = [one for one in told(read_off(list(trains), found, 1, head), case, drawn) if "alike" in one]
    assert words in line
    if kind == "friction":
        assert float(re.search(r"([\d.]+) gf more friction", line)[1]) == pytest.approx(0.15 / GF, rel=0.15)
