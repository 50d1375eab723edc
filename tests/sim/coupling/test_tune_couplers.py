"""Couplers of an instrument set note by note: order, plays with those set before, a file that reads back."""

import numpy as np
import pytest
from small_couplers import SWELL, coupler, write_coupled

from keyaction.cases.instrument.drawn import CouplerProblem
from keyaction.cases.instrument.reader import read_instrument
from keyaction.sim.coupling.curve import curve
from keyaction.sim.coupling.order import regulation_order, stated_play, with_plays
from keyaction.sim.coupling.plays_file import entries, plays_files
from keyaction.sim.coupling.split import Wishes
from keyaction.sim.coupling.tune import tune_couplers

PEDAL = coupler("I/pedal", "feet", "great", 'play = "0.5 mm"')
SIXTH = coupler("II/I 6", "great", "II", "pitch = 4")
WISHES = Wishes(least_lift=0.8, least_play=1e-4)


@pytest.fixture(scope="module")
def organ(tmp_path_factory):
    return read_instrument(write_coupled(tmp_path_factory.mktemp("organ"), PEDAL, SWELL, SIXTH))


@pytest.fixture(scope="module")
def found(organ):
    return tune_couplers(organ, "all-on", "great/C4,great/E4,pedal/C4", WISHES, jobs=1)


def test_each_is_set_after_those_that_it_takes_along(organ):
    assert regulation_order(organ, ["I/pedal", "II/I", "II/I 6"]) == ("II/I", "II/I 6", "I/pedal")
    assert regulation_order(organ, ["I/pedal"]) == ("I/pedal",)


def test_the_shipped_instrument_goes_from_the_top_to_the_pedal():
    demo = read_instrument("demo-instrument")
    assert regulation_order(demo, tuple(demo.couplers)) == ("II/I", "II/I 4", "I/pedal", "II/pedal")


def test_notes_and_couplers_that_were_set(found):
    made = [(one.name, one.division, one.note) for one in found.found]
    expected = [("II/I", "great", 60), ("II/I", "great", 64), ("II/I 6", "great", 60), ("I/pedal", "pedal", 60)]
    assert made == expected
    assert found.nothing == ("II/I 6 couples nothing at E4 of great: II has no G#4",)
    assert all(one.reason == "" for one in found.found), [one.reason for one in found.found]


def test_those_set_before_are_drawn(found):
    last = found.found[-1]
    assert set(last.chosen.plucks) == {"pallet", "great-pallet", "ii-pallet", "ii-up-4-pallet"}
    assert set(last.own) == {"great-pallet", "ii-pallet", "ii-up-4-pallet"}
    assert set(found.found[0].chosen.plucks) == {"pallet", "ii-pallet"}


def test_plays_stand_in_the_regulated_instrument(organ, found):
    again = found.regulated
    for one in found.found:
        assert stated_play(again.couplers[one.name], one.note) == one.chosen.play
    assert stated_play(again.couplers["II/I"], 62) == stated_play(organ.couplers["II/I"], 62) == 4e-4
    assert with_plays(organ, {}).couplers == organ.couplers


def test_the_file_reads_back(found, tmp_path):
    path = write_coupled(tmp_path, PEDAL, SWELL, SIXTH)
    (tmp_path / "plays").mkdir()
    for name, text in plays_files(found).items():
        (tmp_path / "plays" / name).write_text(text)
    lines = entries(found, "plays/")
    text = path.read_text()
    for own, name in ((PEDAL, "I/pedal"), (SWELL, "II/I"), (SIXTH, "II/I 6")):
        kept = "".join(line for line in own.splitlines(keepends=True) if not line.startswith("play"))
        assert own in text
        text = text.replace(own, kept.rstrip("\n") + "\n" + lines[name] + "\n")
    path.write_text(text)
    again = read_instrument(path)
    for name, plays in found.plays.items():
        for note, play in plays.items():
            assert stated_play(again.couplers[name], note) == pytest.approx(play, abs=1e-12)
    assert stated_play(again.couplers["II/I"], 62) == pytest.approx(4e-4)


def test_what_the_pallets_lift_in_the_end(found):
    by = {(one.division, one.note, one.pallet): one for one in found.openings}
    assert len(by) == 1 + 2 + 3
    both = by["great", 60, "ii-pallet"]
    first = found.found[0]
    assert both.own == pytest.approx(first.own["ii-pallet"].lift)
    assert both.free >= both.chosen
    assert both.taken_by in ("", "ratio", "II/I")
    lost = {"ratio": both.own - both.free, "II/I": both.free - both.chosen}
    if both.taken_by:
        assert both.taken == pytest.approx(lost[both.taken_by], abs=2e-5)


def test_a_curve_goes_through_what_was_set(found):
    made = curve(found, "II/I", 60)
    one = found.found[0]
    assert made.marks == {"as stated": pytest.approx(4e-4), "to set": one.chosen.play}
    assert np.interp(one.chosen.play, made.plays, made.peaks) == pytest.approx(one.chosen.peak, rel=0.01)
    assert np.interp(one.chosen.play, made.plays, made.lifts) == pytest.approx(one.chosen.lifts["ii-pallet"], rel=0.01)
    assert made.lift_kept == pytest.approx(0.8 * one.own["ii-pallet"].lift)


@pytest.mark.long
def test_couplers_of_other_divisions_are_left(organ):
    some = tune_couplers(organ, "II/I,I/pedal", "pedal/C4", WISHES, jobs=1)
    assert [one.name for one in some.found] == ["I/pedal"]
    assert some.nothing == ("II/I is left as it is: no note of great was asked for",)
    assert "ii-pallet" in some.found[0].chosen.plucks


def test_unknown_couplers(organ):
    with pytest.raises(CouplerProblem, match="no coupler 'II/J'"):
        tune_couplers(organ, "II/J", "great/C4")


def test_what_is_no_instrument_and_no_wish(organ):
    with pytest.raises(TypeError, match="Case has no couplers; an Instrument is needed"):
        tune_couplers(organ.divisions["great"])
    for wrong in (
        {"least_lift": 0.0},
        {"least_lift": 1.1},
        {"least_play": -1e-4},
        {"least_play": 0.03},
        {"near": -0.1},
    ):
        with pytest.raises(ValueError, match="least_lift above 0"):
            Wishes(**wrong)
    assert Wishes(1.1, of_own=False).least_lift == 1.1
