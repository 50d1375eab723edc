"""The day of regulation beside the case as it is written: play taken up, shares of the load, the case written out."""

import numpy as np
import pytest
from small_pedal import write_pedal

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.figures.play import press_note
from keyaction.sim.figures.quantities import lost_motion, pluck_force, pluck_point, steady_lift
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.seasons.as_written import as_written, written_play
from keyaction.sim.seasons.held import held_of, regulated
from keyaction.sim.seasons.nuts_written import nuts_of, nuts_text
from keyaction.sim.seasons.regulated import both_ways, regulated_said, regulated_season
from keyaction.sim.tightening.touch import READ

ENDS = (36, 43)
AT_KEY = 50 / 45 * 120 / 54 * 480 / 550
"""Way of the key front per way of the riser, by the arms of squares and key."""


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return write_pedal(tmp_path_factory.mktemp("pedal"))


@pytest.fixture(scope="module")
def case(path):
    return read_case(path)


@pytest.fixture(scope="module")
def season(case):
    return regulated_season(case)


@pytest.fixture(scope="module")
def written_out(path, season):
    place = path.with_name("set.toml")
    place.write_text(nuts_text(season), encoding="utf-8")
    return read_case(place)


def pressed(case, note):
    return press_note(NoteModel(train_of(case, note)), case.strokes)


def test_every_note_holds_its_share_with_the_rail_at_its_centre(season):
    held = held_of(season)
    pulls = [float(c.at(regulated(season.notes[note]))) for c, note in zip(held.curves, held.notes, strict=True)]
    assert pulls == pytest.approx([held.rail.load / 8] * 8, rel=1e-4)
    assert season.rail.place == pytest.approx([0.0], abs=1e-9)


def test_the_load_takes_up_whatever_play_is_written(path, case):
    """As written the pluck comes later by the play at the key, by hand; as regulated it is the same either way."""
    slack, without = (both_ways(one, ENDS) for one in (case, read_case(path, set_={"riser.lost_motion": "0 mm"})))
    assert written_play(train_of(case, 36)) == pytest.approx(0.3e-3 * AT_KEY, rel=1e-9)
    for one, other in zip(slack, without, strict=True):
        assert one.plucks[0] - other.plucks[0] == pytest.approx(0.3e-3 * AT_KEY, abs=2e-6)
        assert one.regulated == pytest.approx(other.regulated, rel=1e-4, abs=1e-7)
        assert one.regulated["pluck_force"] == pytest.approx(one.written["pluck_force"], rel=1e-5)
        assert one.gain > other.gain > 0.2e-3  # the load stretches rods besides
        assert one.regulated["lost_motion"] < 0.01e-3


def test_two_notes_of_even_play_stand_for_all(case, season):
    found = both_ways(case, case.compass)
    assert [one.note for one in found] == list(ENDS)
    for one in found:
        whole = {name: float(season.notes[one.note].figures[name][0]) for name in READ}
        assert one.regulated == pytest.approx(whole, rel=1e-4)
        assert one.written["pluck_point"] == float(pluck_point(pressed(case, one.note)))


def test_a_note_with_more_play_than_the_others_keeps_what_it_has_more(tmp_path):
    uneven = read_case(write_pedal(tmp_path, more='\n[notes.D2.riser]\nlost_motion = "0.8 mm"\n'))
    (one,) = both_ways(uneven, [38])
    more = 0.5e-3 * AT_KEY
    pull = 2 * (one.written["lost_motion"] - one.regulated["lost_motion"])
    assert (
        0.5 * more < one.regulated["lost_motion"] < more and pull > more
    )  # what the rail takes up is the others' play


def test_the_case_written_out_is_pressed_as_the_season_has_it(case, season, written_out):
    """By another rod than the season's, and from the file: levers' turns make 2 um of it."""
    for note in (36, 37, 43):
        found, there = pressed(written_out, note), season.notes[note].figures
        for read in (pluck_point, lost_motion, steady_lift):
            assert float(read(found)) == pytest.approx(float(there[read.__name__][0]), abs=2e-6)
        assert float(pluck_force(found)) == pytest.approx(float(pluck_force(pressed(case, note))), rel=1e-5)
    assert {rod for rod, _ in nuts_of(season).values()} == {"riser"}  # where the case writes play
    assert all(play < 0.0 for _, play in nuts_of(season).values())


def test_the_case_written_out_stays_as_it_is(written_out, season):
    """Its rods are written tight, which says how its nuts are set: the rail does not draw them tighter again."""
    again = regulated_season(written_out)
    assert [regulated(one) for one in again.notes.values()] == pytest.approx([0.0] * 8, abs=1e-6)
    for name in READ:
        np.testing.assert_allclose(again.over(name), season.over(name), atol=2e-6, rtol=1e-4)
    assert both_ways(written_out, ENDS) == [] and regulated_said(written_out, ENDS, "trade") == ""


def test_tight_rods_are_usual_on_a_floating_rail_alone(written_out):
    assert written_out.warnings == ()
    fast = read_case(written_out.path, set_={"rail.fixed": True})
    assert len(fast.warnings) == 1 and "field 'lost_motion'" in fast.warnings[0]


def test_it_is_said_with_both_figures_and_which_to_go_by(case):
    told = regulated_said(case, [36], "trade")
    one = both_ways(case, [36])[0]
    here, there = (f"{1e3 * at:.3g} mm" for at in one.plucks)
    assert f"C2 then plucks at {there} (here {here}) with the same force" in told
    assert "Go by those: `keyaction rail CASE --out FILE`" in told


def test_without_a_rail_that_floats_nothing_is_said(path, case, monkeypatch):
    fast = read_case(path, set_={"rail.fixed": True})
    for one in (fast, read_case("demo-wood")):
        assert regulated_said(one, one.compass, "trade") == as_written(one, one.compass, "trade") == ""
    monkeypatch.setenv("KEYACTION_PLAIN", "1")  # nothing can be compiled: by levers alone
    assert regulated_said(case, [36], "trade") == as_written(case, [36], "trade")
    assert "(0.65 mm at the key of C2)" in as_written(case, [36], "trade")


@pytest.mark.parametrize("notes", [[36], [36, 43]])
def test_a_load_that_its_rods_outweigh_is_said_to_hold_nothing(path, notes):
    told = regulated_said(read_case(path, set_={"rail.load": "0.02 N"}), notes, "trade")
    assert "it stands at a stop: `keyaction rail CASE` says which loads work" in told
