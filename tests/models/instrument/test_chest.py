"""Grooves side by side, and where pallets are pulled against their keys."""

import random
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keyaction.models.instrument.chest import Chest, centres, pallets, pitch, width
from keyaction.models.instrument.keyboard import Keyboard, tails
from keyaction.models.instrument.orders import order_notes
from keyaction.models.instrument.place import Place, places

MANUAL = Keyboard("manual", tuple(range(36, 92)), 0.165)


def chest(order, wide=0.010, bar=0.008, gaps=None, middle=0.0, division=""):
    widths = wide if isinstance(wide, dict) else dict.fromkeys(order, wide)
    return Chest(
        tuple((division, note) for note in order),
        {(division, note): size for note, size in widths.items()},
        bar,
        {(division, note): size for note, size in (gaps or {}).items()},
        middle,
        0.9,
        1.5,
    )


def test_equal_grooves_lie_a_pitch_apart_about_the_middle():
    one = chest((36, 38, 37), middle=0.1)
    assert centres(one) == pytest.approx((0.082, 0.1, 0.118))
    assert pallets(one) == pytest.approx({36: 0.082, 38: 0.1, 37: 0.118})
    assert width(one) == pytest.approx(0.046)
    assert pitch(one) == pytest.approx(dict.fromkeys((36, 37, 38), 0.018))


def test_unequal_grooves_by_hand():
    """20, 10 and 6 mm with bars of 8 mm: 52 mm in all; middles at 10, 33 and 49 mm from the left edge."""
    one = chest((36, 40, 50), {36: 0.020, 40: 0.010, 50: 0.006})
    assert width(one) == pytest.approx(0.052)
    assert centres(one) == pytest.approx((0.010 - 0.026, 0.033 - 0.026, 0.049 - 0.026))


def test_a_gap_is_room_to_the_right_of_its_note_and_the_whole_stays_in_the_middle():
    plain, gapped = chest((36, 37, 38, 39)), chest((36, 37, 38, 39), gaps={37: 0.06})
    assert width(gapped) == pytest.approx(width(plain) + 0.06)
    moved = [there - here for here, there in zip(centres(plain), centres(gapped), strict=True)]
    assert moved == pytest.approx([-0.03, -0.03, 0.03, 0.03])
    assert width(chest((36, 37), gaps={37: 0.06})) == pytest.approx(width(chest((36, 37)))), "nothing stands behind it"


def test_a_pallet_of_two_grooves_is_pulled_between_them():
    one = chest((36, 36, 37, 37), gaps={36: 0.02})
    assert pallets(one)[36] == pytest.approx((centres(one)[0] + centres(one)[1]) / 2)
    assert centres(one)[1] - centres(one)[0] == pytest.approx(0.018), "no gap within a note"
    assert centres(one)[2] - centres(one)[1] == pytest.approx(0.038)
    assert pitch(one)[36] == pytest.approx(0.036)


def test_one_chest_for_two_keyboards_holds_both():
    order = tuple((division, note) for note in (36, 37, 38) for division in ("great", "positive"))
    one = Chest(order, dict.fromkeys(order, 0.010), 0.008, {}, 0.0, 0.9, 1.5)
    assert one.divisions == ("great", "positive")
    great, positive = pallets(one, "great"), pallets(one, "positive")
    assert [positive[note] - great[note] for note in great] == pytest.approx([0.018] * 3)
    assert great[37] - great[36] == pytest.approx(0.036)
    assert pallets(one) == {}
    short = Keyboard("short", (36, 37), 0.165)
    assert list(places(short, one, "positive")) == [36, 37]


def test_a_small_house_organ_is_wider_over_its_grooves_than_over_its_keys():
    """54 notes from C to f3, about 893 mm over the grooves (a builder's account, second-hand): 16.5 mm a note, such as
    grooves of 8.5 mm with bars of 8 mm.
    """
    one = chest(range(36, 90), wide=0.0085, bar=0.008)
    assert width(one) + 0.008 == pytest.approx(0.893, rel=0.003)


@given(st.lists(st.floats(0.005, 0.03), min_size=1, max_size=40), st.floats(0.002, 0.03), st.integers(0, 10**6))
def test_grooves_never_overlap_and_fill_the_width(sizes, bar, seed):
    order = list(range(len(sizes)))
    random.Random(seed).shuffle(order)
    one = chest(order, dict(enumerate(sizes)), bar)
    at = centres(one)
    for i, (here, there) in enumerate(pairwise(at)):
        assert there - here == pytest.approx((sizes[order[i]] + sizes[order[i + 1]]) / 2 + bar)
    assert at[0] - sizes[order[0]] / 2 == pytest.approx(-width(one) / 2)
    assert at[-1] + sizes[order[-1]] / 2 == pytest.approx(width(one) / 2)


@pytest.mark.parametrize("name", ["two-sides", "basses-outside", "basses-inside"])
def test_a_symmetric_order_gives_symmetric_pallets(name):
    one = chest(order_notes(MANUAL.notes, name), {note: 0.02 - 0.0002 * (note // 2) for note in MANUAL.notes})
    at = pallets(one)
    for low in MANUAL.notes[::2]:
        assert at[low] == pytest.approx(-at[low + 1], abs=1e-12)


@pytest.mark.parametrize("name", ["chromatic", "two-sides", "thirds", "basses-outside", "basses-inside"])
def test_the_other_way_round_is_the_mirror(name):
    left, right = (pallets(chest(order_notes(MANUAL.notes, name, first))) for first in ("left", "right"))
    assert {note: -at for note, at in right.items()} == pytest.approx(left)


def test_a_symmetric_keyboard_under_a_symmetric_chest_has_a_symmetric_table():
    """The keys C to E are their own mirror; so is their chromatic chest, and what is carried sideways."""
    keyboard = Keyboard("five", tuple(range(36, 41)), 0.165, tails="by-naturals")
    found = places(keyboard, chest(keyboard.notes, wide=0.03))
    for low, high in ((36, 40), (37, 39)):
        assert found[low].sideways == pytest.approx(-found[high].sideways)
        assert {found[low].side, found[high].side} == {"left", "right"}


def test_an_even_chest_as_wide_as_the_tails_is_straight():
    """Twelve grooves to an octave in their keys' own pitch: no motion is carried sideways."""
    keyboard = Keyboard("straight", tuple(range(36, 84)), 0.168)
    found = places(keyboard, chest(keyboard.notes, wide=0.006, bar=0.008))
    assert {one.side for one in found.values()} == {"straight"}
    assert [one.key for one in found.values()] == pytest.approx(list(tails(keyboard).values()))
    assert found[60] == Place(60, pytest.approx(found[60].pallet), pytest.approx(found[60].key))
