"""A division laid out: board, fan and paths together, and what is told of them."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from keyaction.models.instrument.assemble import lay_out
from keyaction.models.instrument.board import BoardSizes
from keyaction.models.instrument.chest import Chest
from keyaction.models.instrument.keyboard import Keyboard, tails
from keyaction.models.instrument.orders import ORDERS, order_notes
from keyaction.models.instrument.problem import LayoutProblem
from keyaction.models.instrument.telling import notes_told, together
from keyaction.models.instrument.trace import Rod, Station
from keyaction.models.notes import note_name

SIZES = BoardSizes(0.025, 0.004, 0.015, 0.01, 0.006, 0.006)
RODS = (Rod("sticker", "sticker", True), Rod("pull", "pull-down", False))
"""A balanced key pushes up a sticker, the roller's one arm; the other pulls the pallet down."""


def run(kind="roller", name="roller", arms=(0.06, 0.06), eye=(0.45, 0.9)):
    return (
        Station("key", "key", (0.3, 0.0), 0.23, 0.15),
        Station(name, kind, (0.39, 0.4), *arms),
        Station("pallet", "pallet", eye, 0.17, None),
    )


def laid(order="chromatic", notes=range(48, 61), bar=0.008, stations=None, rods=RODS, board=SIZES, splayed="", **more):
    notes = tuple(notes)
    keyboard = more.pop("keyboard", Keyboard("manual", notes, 0.165))
    groove = {("", note): 0.010 for note in notes}
    grooves = tuple(("", note) for note in order_notes(notes, order))
    chest = Chest(grooves, groove, bar, {}, 0.0, 0.45, 0.9)
    return lay_out(
        "", keyboard, chest, order, dict.fromkeys(notes, stations or run()), rods, board, splayed, note_name, **more
    )


FAN = (Rod("sticker", "sticker", True), Rod("drop", "tracker", False))


def backfall(name="backfall"):
    return (
        Station("key", "key", (0.3, 0.0), 0.23, 0.15),
        Station(name, "backfall", (0.75, 0.4), 0.3, 0.3),
        Station("pallet", "pallet", (1.05, 0.9), 0.17, None),
    )


def test_a_fan_of_rods_is_as_long_as_its_sides_say():
    found = laid(stations=backfall(), rods=FAN, board=None, splayed="drop")
    for note, place in found.places.items():
        leg = found.paths[note].legs[1]
        within = math.dist(leg.start[1:], leg.end[1:])
        assert found.figures["drop.length"][note] == pytest.approx(math.hypot(within, place.sideways))
        assert found.figures["drop.splay"][note] == pytest.approx(math.atan2(abs(place.sideways), within))
        assert found.figures["sticker.splay"][note] == 0.0
    assert found.board is None and found.splayed == "drop"


def test_splayed_backfalls_have_arms_longer_than_the_side_view():
    found = laid(stations=backfall(), rods=FAN, board=None, splayed="backfall")
    for note, place in found.places.items():
        whole = found.figures["backfall.in_arm"][note] + found.figures["backfall.out_arm"][note]
        assert whole == pytest.approx(math.hypot(0.6, place.sideways))
        assert found.figures["sticker.splay"][note] == found.figures["drop.splay"][note] == 0.0


def test_zero_splay_is_the_straight_rod_to_the_last_figure():
    even = Keyboard("even", tuple(range(48, 60)), 0.216)
    notes = even.notes
    slant = laid(notes=notes, stations=backfall(), rods=FAN, board=None, splayed="drop", keyboard=even)
    straight = laid(notes=notes, stations=backfall(), rods=FAN, board=None, keyboard=even)
    assert {place.side for place in slant.places.values()} == {"straight"}
    assert set(straight.figures["drop.length"].values()) == {straight.paths[48].legs[1].length}
    for note in notes:
        assert slant.figures["drop.length"][note] == pytest.approx(straight.figures["drop.length"][note], rel=1e-14)


def test_slanting_rods_that_cross_are_named():
    with pytest.raises(LayoutProblem, match=r"C#3 and D3 cross|D3 and D#3 cross"):
        laid("two-sides", stations=backfall(), rods=FAN, board=None, splayed="drop")
    with pytest.raises(LayoutProblem, match=r"stand 13\.\d mm apart"):
        laid(stations=backfall(), rods=FAN, board=None, splayed="drop", width=0.016)


def test_crossing_is_told_without_paths_too():
    without = tuple(replace(one, axis=None) for one in backfall())
    with pytest.raises(LayoutProblem, match="cross"):
        laid("two-sides", stations=without, rods=FAN, board=None, splayed="drop")


def test_what_nothing_carries_is_told_once_for_all_notes():
    with pytest.raises(LayoutProblem) as caught:
        laid(stations=backfall(), rods=FAN, board=None)
    (told,) = caught.value.defects
    assert "C3 to C4 (most at " in told and told.startswith("neither roller nor fan")


def test_rollers_are_where_the_board_has_them():
    found = laid(stations=run(arms=(0.05, 0.07)))
    for note, roller in found.board.rollers.items():
        turn = found.paths[note].turns[1]
        off = found.board.offset(note)
        assert turn.near == (roller.key, 0.39, pytest.approx(0.4 + off))
        assert turn.far == (roller.pallet, 0.39, pytest.approx(0.4 + off))
        assert found.figures["roller.length"][note] == roller.length
        assert math.dist(turn.near, turn.in_end) == pytest.approx(0.05)
        assert math.dist(turn.far, turn.out_end) == pytest.approx(0.07)
        legs = found.paths[note].legs
        assert legs[0].end == turn.in_end and legs[1].start == turn.out_end
        assert (legs[0].start[0], legs[1].end[0]) == (found.places[note].key, found.places[note].pallet)


def test_a_level_board_spreads_its_rows_into_the_case():
    found = laid(board=replace(SIZES, stands="level"), notes=(48, 50, 52), bar=0.03)
    backs = {found.paths[note].turns[1].near[1] for note in found.places}
    ups = {found.paths[note].turns[1].near[2] for note in found.places}
    assert len(backs) == found.board.rows and ups == {0.4}


def test_a_board_too_low_names_the_notes_beyond_it():
    rows = laid().board.rows
    laid(board=replace(SIZES, height=rows * 0.025))
    with pytest.raises(LayoutProblem, match=f"too low: {rows} rows of 25 mm .* room for {rows - 1} .beyond it: "):
        laid(board=replace(SIZES, height=rows * 0.025 - 1e-4))


def test_defects_of_a_board_are_told_beside_others():
    with pytest.raises(LayoutProblem, match="clearance"):
        laid(board=replace(SIZES, clearance=0.02))


def test_without_any_axis_there_are_places_and_rollers():
    found = laid(stations=tuple(replace(one, axis=None) for one in run()))
    assert (
        found.paths == {} and list(found.figures) == ["roller.length"] and not any("paths" in r for r in found.remarks)
    )


@settings(deadline=None, max_examples=60)
@given(st.sets(st.integers(36, 91), min_size=1, max_size=12), st.sampled_from(ORDERS), st.floats(0.002, 0.03))
def test_every_path_joins_its_key_to_its_pallet(notes, order, bar):
    try:
        found = laid(order, sorted(notes), bar)
    except LayoutProblem as problem:
        assert problem.defects
        return
    lines = tails(found.keyboard)
    assert set(found.paths) == notes
    for note, path in found.paths.items():
        assert path.turns[0].out_end[0] == lines[note]
        assert path.turns[-1].in_end == (found.places[note].pallet, 0.45, 0.9)
        assert abs(found.board.rollers[note].length) >= SIZES.shortest - 1e-9


def test_notes_in_words():
    among = (36, 38, 40, 41, 43)
    assert notes_told([38, 40, 43, 36], among, note_name) == "C2 to E2, G2"
    assert notes_told([], among, note_name) == ""
    defects = {36: ["C2: a rod of 3 mm"], 38: ["D2: a rod of 4 mm"], 41: ["F2: no rod"]}
    assert together(defects, among, note_name) == [
        "a rod of 3 mm (at C2 to D2; figures of C2)",
        "no rod (at F2)",
    ]
