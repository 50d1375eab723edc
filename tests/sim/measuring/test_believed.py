"""Readings that cannot be meant as they stand are told and left out; sound ones stay."""

from dataclasses import replace

import pytest

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import sound_trains
from keyaction.models.readings.readings import Head
from keyaction.sim.measuring.believed import OUNCE, believed
from keyaction.sim.measuring.computed import both_winds, computed, drawn_levels
from keyaction.sim.measuring.synthetic import read_off

ON = ("pluck", "hold", "up")


@pytest.fixture(scope="module")
def sheet():
    """The case, five of its notes as computed, wind on and off, and a sheet of them."""
    case = read_case("demo-wood")
    trains = sound_trains(case, case.compass[::12])
    every = list(trains.values())
    drawn = computed(every, case.strokes, wind_off_too=False).from_level(drawn_levels(every, case.strokes))
    drawn = both_winds(drawn, every, case.strokes)
    head = Head(case=case.title, key=case.fingerprint[:8], pressure=70 * 9.80665)
    return case, drawn, read_off(list(trains), drawn, 1, head)


def test_a_sound_sheet_stays(sheet):
    case, drawn, readings = sheet
    assert believed(readings, case, drawn).readings == readings


def test_weights_without_wind_in_columns_of_wind_on_alone(sheet):
    case, drawn, readings = sheet
    off = {(one.note, one.figure): one.value for one in readings.rows}
    rows = tuple(
        replace(one, value=off[one.note, f"{one.figure}_off"]) if one.figure in ON else one
        for one in readings.rows
        if not one.figure.endswith("_off")
    )
    found = believed(replace(readings, rows=rows), case, drawn)
    assert found.told[0].startswith("Left out")
    assert "Put them in the wind-off columns" in found.told[0]
    assert found.readings.figures == ("level", "dip", "play", "point", "lift")


def test_ounces_among_grams(sheet):
    case, drawn, readings = sheet
    note = readings.notes[2]
    rows = tuple(
        replace(one, value=one.value / OUNCE) if one.note == note and one.figure in ON else one for one in readings.rows
    )
    found = believed(replace(readings, rows=rows), case, drawn)
    (line,) = found.told
    assert line.startswith("C4: ounces in pluck; hold; up?")
    assert found.readings.rows == tuple(one for one in readings.rows if one.note != note or one.figure not in ON)
