"""Chords at their edges: no wind, a trunk that chokes them."""

import math

import keyaction as ka


def test_without_wind_there_are_no_times_as_in_a_run():
    found = ka.chord(ka.read_case("demo-wood", set_={"box.pressure": "0 mmH2O"}), "C2 E2")
    for one in found.notes:
        for times in (one.alone, one.under):
            assert all(math.isnan(each) for each in (times.opening, times.speech, times.release))


def test_a_groove_that_is_silent_already_does_not_fall_silent():
    choked = ka.read_case("demo-wood", set_={"box.trunk.area": "15 mm^2"})
    found = ka.chord(choked, "C2 E2")
    for one in found.notes:
        assert one.of_rest < 0.5
        assert math.isnan(one.under.release) and one.alone.release > 0.0
