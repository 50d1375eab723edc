"""Sheets of couplers that were set: decimals where they decide, and rounds in which no coupler closes a loop."""

import pytest
from small_couplers import SWELL, coupler, write_coupled

from keyaction.cases.instrument.reader import read_instrument
from keyaction.sim.coupling.opening import Opening
from keyaction.sim.coupling.rounds import rounds_of, rounds_told
from keyaction.sim.coupling.sheets import lacks, opening_sheet
from keyaction.sim.coupling.split import Wishes


def opened(chosen, own=0.01):
    return Opening("great", 60, "ii-pallet", own, own, own, chosen, 1.0)


@pytest.mark.parametrize(
    ("lift", "wishes", "shown", "place"),
    [
        (0.00896, Wishes(0.9), "89.6", -4),
        (0.0089996, Wishes(0.9), "89.996", -4),
        (0.0085, Wishes(0.9), "85", -4),
        (0.0092, Wishes(0.9), "92", -4),
        (0.005998, Wishes(0.006, of_own=False), "5.998", -5),
        (0.0054, Wishes(0.006, of_own=False), "5.40", -5),
    ],
)
def test_as_many_decimals_as_decide(lift, wishes, shown, place):
    sheet = opening_sheet([opened(lift)], "scientific", "trade", wishes, {"great": 5.0, "II": 5.0}, brief=True)
    (row,) = sheet.shown()
    assert row[place] == shown
    assert row[0] == ("C4" if shown == "92" else "C4!")
    assert lacks(opened(lift), wishes) == (shown != "92")
    assert "held at the bottom by 5 N:" in sheet.note
    feet = opening_sheet([opened(lift)], "scientific", "trade", wishes, {"great": 5.0, "II": 5.0, "pedal": 20.0})
    assert "held at the bottom by 5 N (great, II), 20 N (pedal):" in feet.note


def test_rounds(tmp_path):
    sixth, back = coupler("II/I 6", "great", "II", "pitch = 4"), coupler("I/II", "II", "great")
    rounds = rounds_of(read_instrument(write_coupled(tmp_path, SWELL, back, sixth)))
    assert rounds == (("II/I", "II/I 6"), ("I/II",))
    assert rounds_told(rounds) == [
        "I/II: left out above, for with II/I, II/I 6 it closes a loop; regulated by itself, none of those drawn."
    ]
    rounds = rounds_of(read_instrument(write_coupled(tmp_path, SWELL, sixth)))
    assert (rounds, rounds_told(rounds)) == ((("II/I", "II/I 6"),), [])
