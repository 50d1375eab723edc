"""Nuts turned with the rail off its centre."""

import numpy as np
import pytest
from springs_on_a_rail import rail, springs

from keyaction.sim.floating.centre import centred
from keyaction.sim.floating.turned import turned_off_centre

N, WAY = 10, 0.65
SLACKER_THEN_TIGHTER = np.array([0.0, -1e-3, 0.0, 1e-3])


def ten(**others):
    return springs(rail(20.0, **others), [2000.0] * N, way=WAY, opens=np.inf)


def turned(held, notes, own=0.0, day=1, place=None):
    right = centred(held).stretch
    tighter = np.tile(SLACKER_THEN_TIGHTER, (N, 1))
    tighter[3] += own * SLACKER_THEN_TIGHTER / 1e-3
    return turned_off_centre(held, right[:, None] + tighter, right, notes, day, place)


def test_where_the_rail_takes_all_up_nothing_is_left_to_turn():
    found = turned(ten(), (63,))
    assert found.place == pytest.approx(1e-3, rel=1e-6)
    assert found.by[63] == pytest.approx(0.0, abs=1e-9)
    assert found.nearer == pytest.approx((0.0, 0.0), abs=1e-9)


def test_a_note_set_right_in_one_season_is_wrong_by_twice_as_much_in_the_other():
    """Note 63 changes 0.4 mm more than all others; the rail takes up a tenth of that."""
    found = turned(ten(), (63,), own=0.4e-3)
    left = 0.4e-3 * (1 - 1 / N)
    assert found.by[63] == pytest.approx(left, rel=1e-6)
    # against the others, which the rail leaves by the tenth that it took: 0.4 mm each way, and what the nut adds
    assert found.offset[63][3] == pytest.approx((0.4e-3 + left) / WAY, rel=1e-6)
    note, day, off = found.worst
    assert (note, day) == (63, 3) and off > 0.0  # too tight: towards a cipher


def test_nuts_of_all_turned_with_the_rail_at_its_stop_bring_it_nearer_the_other():
    held = ten(ahead=0.6e-3, behind=5e-3)
    found = turned(held, held.notes)
    assert found.place == pytest.approx(0.6e-3)
    assert found.before.at_stop[1] == 1
    assert [found.by[note] for note in held.notes] == pytest.approx([0.4e-3] * N, rel=1e-6)
    assert found.after.place == pytest.approx([-0.4e-3, 0.6e-3, -0.4e-3, -1.4e-3], abs=1e-9)
    assert found.nearer[1] == pytest.approx(0.4e-3, rel=1e-6)


def test_one_nut_turned_at_the_stop_stays_too_tight_against_the_others_all_year():
    held = ten(ahead=0.6e-3)
    found = turned(held, (63,))
    assert found.by[63] == pytest.approx(0.4e-3, rel=1e-6)
    assert found.offset[63] == pytest.approx(np.full(4, 0.4e-3 / WAY), rel=1e-6)
    assert found.nearer[1] == pytest.approx(0.4e-3 / N, rel=1e-5)


def test_nuts_of_all_turned_with_the_rail_held_elsewhere_move_its_year():
    """Held at its centre in the slack season, all drawn up 1 mm: it comes 1 mm nearer the stop behind."""
    held = ten()
    found = turned(held, held.notes, place=0.0)
    assert found.place == 0.0
    assert found.after.place == pytest.approx([-1e-3, 0.0, -1e-3, -2e-3], abs=1e-9)
    assert found.nearer == pytest.approx((-1e-3, 1e-3), abs=1e-9)


def test_on_its_day_a_nut_is_right():
    held = ten(ahead=0.6e-3)
    found = turned(held, held.notes, own=0.4e-3)
    assert found.after.place[1] == pytest.approx(found.place, abs=1e-9)
    assert all(abs(found.offset[note][1]) < 1e-9 for note in held.notes)
