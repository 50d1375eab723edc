"""Rollers of wire whose ends are bent over: where their bearings stand, what is drawn and what is cut."""

import csv
import io
import random
from dataclasses import replace
from itertools import permutations

import pytest
from boards import SIZES, placed

from keyaction.cases.action.reader import read_case
from keyaction.models.instrument.problem import LayoutProblem
from keyaction.models.instrument.rollers import lay_board
from keyaction.plots.drawings.board import board_drawing, edges
from keyaction.plots.drawings.cuts import roller_cuts
from keyaction.plots.drawings.drawing import Circle, Stroke
from keyaction.plots.drawings.lists import as_csv, rollers_sheet, totals_sheet
from keyaction.plots.drawings.paper import Scale

WIRE = replace(SIZES, inside=True, wire=0.006, bearing=0.004, inset=0.008)
STEEL = 7850.0


@pytest.fixture(scope="module")
def case():
    return read_case("wire-rollers")


@pytest.fixture(scope="module")
def cuts(case):
    return roller_cuts(case, case.layout)


def test_bearings_stand_inside_the_arms():
    board = lay_board(placed((0.0, 100.0)), WIRE)
    assert board.rollers[60].bearings == pytest.approx((0.008, 0.092))
    assert edges(board) == pytest.approx((-0.003 - 0.02, 0.103 + 0.02))


def test_one_bearing_in_the_middle_where_there_is_no_room_for_two():
    # Two insets of 8 mm and a bearing of 4 mm: from 20 mm on there are two.
    for length, alone in ((19.9, True), (20.1, False)):
        roller = lay_board(placed((0.0, length)), WIRE).rollers[60]
        assert roller.alone is alone
        assert sum(roller.bearings) / 2 == pytest.approx(length / 2000)


@pytest.mark.parametrize(("gap", "rows"), [(11.9, 2), (12.1, 1)])
def test_neighbours_of_a_row_keep_their_gap_between_arms(gap, rows):
    # From middle to middle: a wire of 6 mm (two halves) and 6 mm between.
    places = placed((0.0, 100.0), (100.0 + gap, 200.0 + gap))
    assert lay_board(places, WIRE).rows == rows


def test_wires_share_no_bearing():
    with pytest.raises(LayoutProblem, match="share no bearing; allowed from 0 mm"):
        lay_board(placed((0.0, 100.0)), replace(WIRE, apart=-0.002))


def test_the_shipped_case_has_its_bearings_inside(case):
    sizes = case.layout.board.sizes
    assert (sizes.inside, sizes.wire) == (True, 0.006)
    assert not read_case("hung-rollers").layout.board.sizes.inside
    alone = [one for one in case.layout.board.rollers.values() if one.alone]
    assert bool(alone) == any("no room for two bearings" in line for line in case.layout.remarks)
    for one in case.layout.board.rollers.values():
        left, right = sorted((one.key, one.pallet))
        assert left < one.bearings[0] <= one.bearings[1] < right


def test_the_wire_to_cut_is_the_way_between_the_arms_and_both_arms(case, cuts):
    text = as_csv(rollers_sheet(cuts, case.naming, 0.001, edges(case.layout.board)[0]))
    rows = list(csv.DictReader(io.StringIO(text)))
    for note, row in zip(sorted(case.layout.board.rollers), rows, strict=False):
        roller = case.layout.board.rollers[note]
        assert float(row["cut (mm)"]) == pytest.approx(1000 * abs(roller.key - roller.pallet) + 45 + 45, abs=1e-3)
        assert row["ends"] == "both bent over: 45 mm for the key's rod, 45 mm for the pallet's"
    assert "Nothing is added or taken off for bends" in text


def test_the_wire_in_all_by_hand(case, cuts):
    (row,) = totals_sheet(cuts, ()).rows
    long = sum(abs(one.key - one.pallet) + 0.090 for one in case.layout.board.rollers.values())
    assert row[4] == pytest.approx(long)
    assert row[6] == pytest.approx(1000 * long * STEEL * 3.14159265 * 0.003**2, rel=1e-3)


def test_the_drawing_has_no_boxes_for_arms(case, cuts):
    drawing = board_drawing(case.layout.board, cuts, Scale(1, 2))
    arms = list(drawing.on("ARMS"))
    assert len(arms) == 2 * len(cuts) and all(isinstance(arm, Circle) for arm in arms)
    cut = cuts[0]
    (shaft,) = [item for item in drawing.on("ROLLERS") if item.of.endswith(" C3")]
    xs = [x for x, _ in shaft.points]
    assert (min(xs), max(xs)) == pytest.approx(
        [1000 * x for x in (min(cut.key, cut.pallet) - 0.003, max(cut.key, cut.pallet) + 0.003)]
    )
    bearings = [item for item in drawing.on("BEARINGS") if isinstance(item, Stroke)]
    assert len(bearings) == sum(1 if one.bearings[0] == one.bearings[1] else 2 for one in cuts)
    assert "circles: the bent ends of the wires" in drawing.remarks[0]


def check(board):
    """Of one row they keep their gap from bend to bend; no rod passes another's arm nearer than the clearance."""
    sizes, spans = board.sizes, {one.note: sorted((one.key, one.pallet)) for one in board.rollers.values()}
    for one, other in permutations(board.rollers.values(), 2):
        if one.row == other.row and spans[one.note] < spans[other.note]:
            assert spans[other.note][0] - spans[one.note][1] >= sizes.apart + sizes.wire - 1e-9
        for rod, passes in ((one.key, other.row < one.row), (one.pallet, other.row > one.row)):
            near = [abs(rod - arm) for arm in (other.key, other.pallet)]
            assert not passes or min(near) >= sizes.clearance - 1e-9


def test_wires_at_random_meet_nothing():
    laid = 0
    for seed in range(300):
        chance = random.Random(seed)
        count = chance.randint(2, 10)
        pallets = [35.0 * i for i in range(count)]
        chance.shuffle(pallets)
        places = placed(*((13.75 * i + 200.0, pallet) for i, pallet in enumerate(pallets)))
        inset, apart = chance.choice((0.006, 0.012)), chance.choice((0.0, 0.006))
        try:
            board = lay_board(places, replace(WIRE, inset=inset, apart=apart, clearance=0.006))
        except LayoutProblem:
            continue
        laid += 1
        check(board)
    assert laid > 50
