"""Rollers that hold each other fast are freed by arms that stand aside, by no more than the board allows."""

from dataclasses import replace

import pytest
from boards import SIZES, overlaps, placed

from keyaction.models.instrument.chest import Chest, pallets
from keyaction.models.instrument.crossing import crossings
from keyaction.models.instrument.freeing import eased, rings
from keyaction.models.instrument.keyboard import Keyboard
from keyaction.models.instrument.orders import ORDERS, order_notes
from keyaction.models.instrument.place import places
from keyaction.models.instrument.problem import LayoutProblem
from keyaction.models.instrument.rollers import lay_board
from keyaction.models.instrument.stands import stand_all
from keyaction.models.notes import note_name

FAST = placed((0, 100), (100, 4))
"""Each key stands under the other's pallet, one of them 4 mm aside."""


def test_two_that_hold_each_other_fast_are_freed():
    aside = replace(SIZES, aside=0.006)
    with pytest.raises(LayoutProblem, match=r"of the pallet of C#4, 5\.0 mm to the right"):
        lay_board(FAST, SIZES, note_name)
    board = lay_board(FAST, aside, note_name)
    assert overlaps(board, {n: replace(p, pallet=board.rollers[n].pallet) for n, p in FAST.items()}) == []
    assert board.rollers[60].pallet == pytest.approx(0.100)
    assert board.rollers[61].pallet == pytest.approx(0.009)  # its key's arm and the keys' lines stand as they were
    assert (board.rollers[60].key, board.rollers[61].key) == pytest.approx((0.0, 0.1))


def test_no_further_aside_than_is_allowed():
    with pytest.raises(LayoutProblem, match="hold each other fast"):
        lay_board(FAST, replace(SIZES, aside=0.0049), note_name)


def test_a_board_without_rings_is_as_it_was():
    free = placed((0, 100), (100, 200), (210, -30))
    given = lay_board(free, SIZES)
    assert lay_board(free, replace(SIZES, aside=0.01)).rollers == given.rollers


@pytest.mark.parametrize("order", [one for one in ORDERS if one != "chromatic"])
@pytest.mark.parametrize("bar", [0.008, 0.012])
def test_a_compass_in_any_order_is_laid(order, bar):
    notes = tuple(range(36, 92))
    widths = {("", note): 0.018 - 0.008 * (note - 36) / 55 for note in notes}
    chest = Chest(tuple(("", n) for n in order_notes(notes, order)), widths, bar, {}, 0.0, 0.0, 0.0)
    at = places(Keyboard("I", notes, 0.165), chest)
    sizes = replace(SIZES, clearance=0.010, aside=0.010)
    board = lay_board(at, sizes, note_name)
    lines = pallets(chest)
    moved = {n: board.rollers[n].pallet - lines[n] for n in notes if abs(at[n].sideways) >= sizes.shortest}
    assert max(map(abs, moved.values())) <= 0.010 + 1e-9
    assert overlaps(board, {n: replace(at[n], key=r.key, pallet=r.pallet) for n, r in board.rollers.items()}) == []


def test_what_is_freed_has_no_ring():
    stands, _ = stand_all(FAST, replace(SIZES, aside=0.006), str)
    pairs = crossings(stands.values())
    assert next(rings(tuple(stands), pairs), None) == (60, 61)
    free = eased(stands, pairs)
    assert next(rings(tuple(free), crossings(free.values())), None) is None
    stuck, _ = stand_all(FAST, SIZES, str)
    assert eased(stuck, pairs) is None


def test_rows_lie_long_to_short_as_far_as_rods_let_them():
    # Three apart from each other, of 50, 200 and 100 mm across one place: nothing asks for an order.
    free = placed((0, 50), (-30, 170), (20, -80))
    board = lay_board(free, SIZES)
    lengths = sorted(board.rollers.values(), key=lambda roller: roller.row)
    assert [round(1e3 * roller.length) for roller in lengths] == [200, 100, 50]
    # A short one that must lie below a longer one stays there.
    held = lay_board(placed((0, 300), (300, 340)), SIZES)
    assert (held.rollers[61].row, held.rollers[60].row) == (0, 1)
