"""Boards of a few notes whose rows, arms and refusals can be seen at a glance; and large ones."""

import math
import time
from dataclasses import replace

import pytest
from boards import SIZES, overlaps, placed

from keyaction.models.instrument.crossing import crossings
from keyaction.models.instrument.freeing import rings, smallest_shift
from keyaction.models.instrument.place import Place
from keyaction.models.instrument.problem import LayoutProblem
from keyaction.models.instrument.rollers import lay_board
from keyaction.models.instrument.stands import stand_all
from keyaction.models.notes import note_name


def refused(places, sizes=SIZES):
    with pytest.raises(LayoutProblem) as problem:
        lay_board(places, sizes, note_name)
    return problem.value.defects


def test_no_note():
    board = lay_board({}, SIZES)
    assert (board.rows, board.height, board.best, board.rollers) == (0, 0.0, True, {})


def test_one_note():
    board = lay_board(placed((0, -300)), SIZES)
    roller = board.rollers[60]
    assert (roller.row, roller.length, board.rows, board.density, board.chain) == (0, pytest.approx(0.3), 1, 1, 1)
    assert roller.bearings == pytest.approx((-0.312, 0.012))
    assert board.height == SIZES.row
    assert board.offset(60) == 0


def test_a_rod_passes_below_the_arm_over_it():
    # The key of 61 stands under the pallet of 60: its rod ends below that roller.
    board = lay_board(placed((0, 100), (100, 200)), SIZES)
    assert {note: roller.row for note, roller in board.rollers.items()} == {60: 1, 61: 0}
    assert (board.rows, board.density, board.chain) == (2, 2, 2)
    turned = lay_board(placed((0, 100), (100, 200)), replace(SIZES, keys="above", pallets="below"))
    assert {note: roller.row for note, roller in turned.rollers.items()} == {60: 0, 61: 1}


def test_beyond_the_clearance_it_may_lie_anywhere():
    near, clear = placed((0, 100), (91.1, -60)), placed((0, 100), (90.9, -60))
    pair = crossings(stand_all(near, SIZES, str)[0].values())
    assert (pair, crossings(stand_all(clear, SIZES, str)[0].values())) == (((61, 60),), ())
    exactly = placed((0, 100), (91, -60))
    assert crossings(stand_all(exactly, SIZES, str)[0].values()) == ()


def test_rollers_of_one_row_keep_their_gap():
    # From arm to arm: two insets, a bearing (two halves) and the gap, 12 + 12 + 10 + 6 mm.
    assert lay_board(placed((0, 100), (140, 200)), SIZES).rows == 1
    assert lay_board(placed((0, 100), (139.9, 200)), SIZES).rows == 2


def test_a_shared_bearing_stands_midway():
    sizes = replace(SIZES, apart=-0.010)
    board = lay_board(placed((0, 100), (128, 200)), sizes)
    assert board.rows == 1
    assert board.rollers[60].bearings == pytest.approx((-0.012, 0.114))
    assert board.rollers[61].bearings == pytest.approx((0.114, 0.212))
    assert lay_board(placed((0, 100), (124, 200)), sizes).rows == 1  # both bearings in one place
    assert lay_board(placed((0, 100), (123.9, 200)), sizes).rows == 2
    own = lay_board(placed((0, 100), (134, 200)), sizes)  # side by side, each its own
    assert own.rollers[60].bearings[1] < own.rollers[61].bearings[0]


def test_more_than_a_bearing_is_not_shared():
    (told,) = refused(placed((0, 100)), replace(SIZES, apart=-0.011))
    assert "board.apart = -11 mm" in told
    assert "allowed from -10 mm" in told


def test_a_bearing_in_the_way():
    # The bearing of 60 stands at 112 mm, 8 mm from the rod of 61, its arm 20 mm.
    places = placed((0, 100), (120, 300))
    assert crossings(stand_all(places, SIZES, str)[0].values()) == ()
    high = replace(SIZES, bearings_in_the_way=True)
    assert (61, 60) in crossings(stand_all(places, high, str)[0].values())
    board = lay_board(places, high)
    assert board.rollers[61].row < board.rollers[60].row
    # One thicker than the clearance counts to its face and half a clearance: 10 mm here, 9 mm of a thinner one.
    places = placed((0, 100), (121.2, 300))
    assert crossings(stand_all(places, high, str)[0].values()) == ((61, 60),)
    assert crossings(stand_all(places, replace(high, bearing=0.004), str)[0].values()) == ()


@pytest.mark.parametrize(("key", "pallet", "arms"), [(50, 50, (50, 62)), (-50, -50, (-50, -62)), (50, 47, (50, 38))])
def test_a_key_straight_under_its_pallet(key, pallet, arms):
    # Its pallet's arm stands off its line, away from the middle, at the least distance of two arms.
    board = lay_board(placed((key, pallet)), SIZES)
    assert (board.rollers[60].key, board.rollers[60].pallet) == pytest.approx((arms[0] * 1e-3, arms[1] * 1e-3))
    assert board.rollers[60].length == pytest.approx(SIZES.shortest)


def test_where_the_pallets_rod_has_no_room_the_keys_arm_gives_way():
    # 6 mm to the clearance of the next pallet's rod, the other 6 mm on the key's side; towards the middle is none.
    board = lay_board(placed((50, 50), (300, 65), (300 + 20, 41)), SIZES)
    assert (board.rollers[60].key, board.rollers[60].pallet) == pytest.approx((0.044, 0.056))
    assert overlaps(board, placed((50, 50), (300, 65), (300 + 20, 41))) == []


def test_it_turns_to_the_middle_where_only_there_is_room():
    board = lay_board(placed((50, 50), (300, 60), (60, 400), (40, -300)), SIZES)
    assert (board.rollers[60].key, board.rollers[60].pallet) == pytest.approx((0.050, 0.038))


def test_two_arms_without_room_beside_each_other():
    (told,) = refused(placed((50, 50), (300, 60), (320, 40), (40, 340), (60, 400)))
    assert "C4 (board.shortest)" in told
    assert "0.0 mm apart sideways, its arms need 12 mm, and the rods beside them leave room for 2.0 mm" in told


def test_a_roller_shorter_than_its_bearings():
    board = lay_board(placed((0, 13)), replace(SIZES, bearing=0.030))
    assert board.rollers[60].bearings == pytest.approx((-0.012, 0.025))


def test_two_rods_nearer_than_the_clearance():
    (told,) = refused(placed((0, 100), (8.5, 300), (40, -200)))
    assert "C4 and C#4 (board.clearance): their rods to the keys stand as near as 8.50 mm" in told
    assert "the clearance is 9 mm" in told


def test_many_pairs_are_one_sentence_and_every_kind_is_told():
    told = refused(placed(*[(8 * i, 500 + 8 * i) for i in range(12)]))
    assert len(told) == 2
    assert "rods to the keys" in told[0]
    assert "and 5 more pairs" in told[0]
    assert "rods to the pallets" in told[1]


def test_both_sides_alike():
    sizes = replace(SIZES, pallets="below")
    # Nothing passes another's arm but what is too near anyway: without constraints the rows are the density.
    board = lay_board(placed((0, 200), (20, 220), (40, 240)), sizes)
    assert (board.rows, board.density, board.chain, board.best) == (3, 3, 1, True)
    (told,) = refused(placed((0, 200), (205, 300)), sizes)
    assert "C4 and C#4" in told
    assert "a key and a pallet, from the same side of the board" in told


def test_two_that_hold_each_other_fast():
    (told,) = refused(placed((0, 103), (100, 6)))
    assert told == (
        "C4 and C#4 hold each other fast on the roller board: each one's roller would have to lie below the other's; "
        "the smallest shift that frees them is of the pallet of C#4, 3.0 mm to the right"
    )
    assert lay_board(placed((0, 103), (100, 9)), SIZES).rows == 2


def test_three_in_a_ring():
    places = placed((0, 205), (100, 2), (200, 104), (-300, -400))
    (told,) = refused(places)
    assert told.startswith("C4, C#4 and D4 hold each other fast")
    assert "of the last below the first's" in told
    assert "the pallet of C4, 4.0 mm to the right" in told
    assert lay_board(places | {60: Place(60, 0.0, 0.209)}, SIZES).rows


def test_every_ring_is_told():
    assert len(refused(placed((0, 103), (100, 6), (1000, 1103), (1100, 1006)))) == 2


def test_no_smaller_shift_of_any_pallet_frees_a_ring():
    # Other pallets stand so near that the nearest way out is shut: tried in steps of 0.1 mm, one by one.
    places = placed((0, 102), (100, 5), (300, 13.5), (340, 111.5), (-200, -4.5), (-230, 92.5))
    stands, _ = stand_all(places, SIZES, note_name)
    pairs = crossings(stands.values())
    ring = next(rings(tuple(stands), pairs))
    note, shift = smallest_shift(ring, stands, pairs)
    best = None
    for steps in range(1, 600):
        for other in ring:
            for way in (-1, 1):
                place = places[other]
                tried = places | {other: Place(other, place.key, place.pallet + way * steps * 1e-4)}
                try:
                    lay_board(tried, SIZES, note_name)
                except LayoutProblem:
                    continue
                best = best or (other, way * steps * 1e-4)
        if best:
            break
    assert best is not None
    assert abs(shift) == pytest.approx(abs(best[1]), abs=1e-9)
    lay_board(places | {note: Place(note, places[note].key, places[note].pallet + shift)}, SIZES)


def compass(order, pitch, keys=13.75):
    """Places of notes 36 to 96 whose grooves stand in this order, at a pitch in mm falling from bass to treble."""
    widths = {note: (pitch[0] + (pitch[1] - pitch[0]) * (note - 36) / 60) * 1e-3 for note in order}
    at, places, whole = 0.0, {}, sum(widths.values())
    for note in order:
        places[note] = Place(note, (note - 66) * keys * 1e-3, at + widths[note] / 2 - whole / 2)
        at += widths[note]
    return places


NOTES = list(range(36, 97))
SIDES = NOTES[::2] + NOTES[1::2][::-1]
THIRDS = NOTES[::4] + NOTES[1::4] + NOTES[2::4] + NOTES[3::4]
INSIDE = NOTES[::2][::-1] + NOTES[1::2]


@pytest.mark.parametrize("pitch", [(20, 20), (28, 14)])
@pytest.mark.parametrize("order", [NOTES, SIDES, THIRDS, INSIDE])
def test_a_compass_lies_at_or_near_its_bound(order, pitch):
    places = compass(order, pitch)
    sizes = replace(SIZES, clearance=0.003)
    start = time.process_time()
    board = lay_board(places, sizes, note_name)
    assert time.process_time() - start < 5  # guards against hanging: 0.05 s is usual
    assert overlaps(board, places) == []
    assert board.best
    assert board.rows == max(board.density, board.chain)


def test_symmetric_places_give_symmetric_rollers():
    places = {k: Place(k, (k - 66) * 0.0275, (k - 66) * 0.04) for k in range(56, 77) if k != 66}
    board = lay_board(places, SIZES, note_name)
    for note, roller in board.rollers.items():
        other = board.rollers[132 - note]
        assert (roller.key, roller.pallet) == pytest.approx((-other.key, -other.pallet))
        assert roller.bearings == pytest.approx((-other.bearings[1], -other.bearings[0]))


def test_two_hundred_notes():
    places = {i: Place(i, (i - 100) * 0.0137, (i - 100) * 0.020) for i in range(200)}
    places = {i: place for i, place in places.items() if abs(place.sideways) > 0.02}
    start = time.process_time()
    board = lay_board(places, replace(SIZES, clearance=0.006), str)
    assert time.process_time() - start < 20  # guards against hanging: 1 s is usual
    assert overlaps(board, places) == []
    assert board.rows >= board.density
    assert board.height == pytest.approx(board.rows * SIZES.row)
    assert math.isclose(sum({board.offset(note) for note in places}), 0.0, abs_tol=1e-9)


def test_the_same_board_every_time_and_whatever_the_order_of_the_notes():
    places = compass(NOTES, (28, 14))
    assert lay_board(places, SIZES) == lay_board(dict(reversed(places.items())), SIZES)


def test_where_no_shift_frees_them_that_is_said():
    # The bearing beside each key's arm stands in the other key's rod, wherever the pallets are to their own sides.
    high = replace(SIZES, bearings_in_the_way=True, apart=0.006, inset=0.0135)
    told = refused(placed((0, -200), (13.75, 200), (-13.75, 300), (27.5, -300)), high)
    assert any("hold each other fast" in one for one in told)
    assert all("frees them" in one for one in told)
