"""A sheet held against an older one: what came right, what crept, what is still to do."""

import pytest
from unregulated import FINE

from keyaction.sim.regulating.read_off import read_off
from keyaction.sim.regulating.since import since, since_sheet, since_told

ON = ("level", "dip", "play", "pluck", "hold", "up")


@pytest.fixture(scope="module")
def sheets(wood):
    """Two nuts off before; one of them set right since, and another one crept meanwhile."""
    found = []
    first, second, third = wood.notes[:3]
    for seed, each in ((1, {first: 1.4e-3, second: 1.4e-3}), (2, {second: 1.4e-3, third: 1.4e-3})):
        planted = wood.planted({note: {"nut": way} for note, way in each.items()})
        found.append(wood.of(planted.read(seed, FINE, ON)))
    return first, second, third, *found


def test_what_moved_is_counted_by_figure(sheets):
    _, second, third, before, now = sheets
    found = {one.figure: one for one in since(before, now)}
    play = found["play"]
    assert (play.read, play.before, play.now) == (6, 4, 4)
    assert (play.worse, play.crept) == ((third,), (third,))
    assert set(play.left) == {second, third}
    assert (found["level"].now, found["level"].worse) == (6, ())
    assert [row[0] for row in since_sheet(list(found.values())).rows] == ["level", "dip", "play", "pluck", "up"]


def test_it_is_told_by_note(sheets):
    _, second, third, before, now = sheets
    told = since_told(before, now, str)
    first = sheets[0]
    asked = "Of 2 notes that the sheet before wanted set"
    assert f"{asked}, nothing more is wanted: {first}; still to do: {second}." in told
    assert any("crept" in line and str(third) in line for line in told)
    assert not any("crept" in line for line in since_told(now, now, str))


def test_sheets_of_other_notes_are_held_against_each_other_by_name(wood):
    """The older sheet lacks the highest note, the newer one the lowest: rows do not lie beside each other."""
    off = wood.notes[2]
    planted = wood.planted({off: {"nut": 1.4e-3}})
    before = wood.of(planted.read(1, FINE, ON, wood.notes[:4]))
    now = wood.of(planted.read(2, FINE, ON, wood.notes[1:]))
    (play,) = (one for one in since(before, now) if one.figure == "play")
    assert (play.read, play.before, play.now) == (3, 2, 2)
    assert (play.worse, play.left) == ((), (off,))
    assert "the 3 notes that both sheets have (of 4 before, 5 now)" in since_told(before, now, str)[0]
    none = wood.of(planted.read(2, FINE, ON, wood.notes[4:]))
    assert "No figure" in since_told(before, none, str)[0]


def test_what_was_read_outside_counts_as_the_run_of_its_own_sheet_told_it(sheets):
    _, _, _, before, now = sheets
    for one, counted in ((before, "before"), (now, "now")):
        off = read_off(one)
        for figure in since(before, now):
            outside = sum(figure.figure in own for own in off.values())
            assert getattr(figure, counted) == figure.read - outside


def test_a_cause_that_was_found_and_a_rail_that_was_moved_are_told(wood):
    note, off = wood.notes[2], {"rest": -0.7e-3}
    found = wood.planted({one: off | ({"friction": 0.3} if one == note else {}) for one in wood.notes})
    before, now = wood.of(found.read(1, FINE, ON)), wood.of(wood.planted().read(2, FINE, ON))
    told = since_told(before, now, str)
    assert "Set for all notes at once, and right: level." in told
    head = "Of 1 note that the sheet before had found out or measured again first"
    assert f"{head}, nothing more is wanted: {note}." in told
