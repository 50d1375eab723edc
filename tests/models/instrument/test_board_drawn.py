"""Boards of random notes, drawn as polygons: nothing meets, every rod joins its two right points."""

import random
from dataclasses import replace
from itertools import permutations

import pytest
from boards import SIZES, bodies, overlaps
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point

from keyaction.models.instrument import freeing
from keyaction.models.instrument.board import Board, RollerPlace
from keyaction.models.instrument.place import Place
from keyaction.models.instrument.problem import LayoutProblem
from keyaction.models.instrument.rollers import lay_board
from keyaction.models.instrument.stands import stand_all

LAID = {"boards": 0, "refused": 0, "rows": 0, "short": 0, "shared": 0, "bearings": 0, "alike": 0}


@st.composite
def drawn(draw):
    """Places of up to twelve notes and a board's sizes."""
    chance = random.Random(draw(st.integers(0, 10**9)))
    count = chance.randint(0, 12)
    alike = chance.random() < 0.25
    sizes = replace(
        SIZES,
        clearance=chance.choice((0.002, 0.005, 0.009)),
        bearing=chance.uniform(0.003, 0.012),
        inset=chance.uniform(0.008, 0.02),
        apart=chance.choice((-0.003, -0.002, 0.0, 0.006)),
        shortest=chance.uniform(0.008, 0.014),
        keys=chance.choice(("below", "above")),
        bearings_in_the_way=chance.random() < 0.3,
    )
    pitch, wide = chance.choice((0.01375, 0.0275)), chance.uniform(0.014, 0.04)
    sizes = replace(sizes, pallets=sizes.keys if alike else {"below": "above", "above": "below"}[sizes.keys])
    order = list(range(count))
    if chance.random() < 0.8:
        chance.shuffle(order)
    off = chance.uniform(-0.2, 0.2) + (0.6 if alike and chance.random() < 0.8 else 0.0)
    key = [pitch * (i - count / 2) for i in range(count)]
    pallet = [off + wide * (i - count / 2) for i in order]
    return {i: Place(i, key[i], pallet[i]) for i in range(count)}, sizes


@given(drawn())
@settings(max_examples=1200, derandomize=True, database=None, deadline=None)
def look(board_and_sizes):
    places, sizes = board_and_sizes
    try:
        board = lay_board(places, sizes, str)
    except LayoutProblem:
        LAID["refused"] += 1
        return
    assert overlaps(board, places) == []
    joined(board, places)
    LAID["boards"] += 1
    LAID["rows"] += board.rows
    LAID["short"] += any(abs(place.sideways) < sizes.shortest for place in places.values())
    middles = [middle for roller in board.rollers.values() for middle in set(roller.bearings)]
    LAID["shared"] += len({round(middle, 9) for middle in middles}) < len(middles)
    LAID["bearings"] += sizes.bearings_in_the_way
    LAID["alike"] += sizes.keys == sizes.pallets and len(places) > 1


def joined(board, places):
    """Every rod begins at its own roller's arm and leads to its own line at the right edge; rollers are full."""
    sizes = board.sizes
    by_what = {(body.note, body.what): body.shape for body in bodies(board, places)}
    assert board.rollers.keys() == places.keys()
    assert {roller.row for roller in board.rollers.values()} == set(range(board.rows))
    assert max(board.density, board.chain) <= board.rows
    for note, roller in board.rollers.items():
        place, at = places[note], roller.row * sizes.row
        for end, arm, edge in (("key", roller.key, sizes.keys), ("pallet", roller.pallet, sizes.pallets)):
            rod, line = by_what[note, f"{end} rod"], getattr(place, end)
            assert rod.intersection(by_what[note, f"{end} arm"]).area > 0
            far = -sizes.row if edge == "below" else board.rows * sizes.row
            assert rod.distance(Point(arm, at)) < 1e-9
            assert rod.distance(Point(line, far)) < 1e-9
        if abs(place.sideways) >= sizes.shortest:
            assert (roller.key, roller.pallet) == (place.key, place.pallet)
        else:
            assert roller.length == pytest.approx(sizes.shortest, abs=1e-9)
            assert place.side == "straight" or (roller.pallet > roller.key) == (place.side == "right")
        left, right = sorted((roller.key, roller.pallet))
        assert roller.bearings[0] <= left - sizes.inset + 1e-9
        assert roller.bearings[1] >= right + sizes.inset - 1e-9
        least = 2 * sizes.inset + roller.length - 1e-9
        assert least <= roller.bearings[1] - roller.bearings[0] <= least + sizes.bearing + 1e-8


@pytest.mark.long
def test_nothing_meets_on_any_board(monkeypatch):
    search, told = freeing.smallest_shift, []

    def first_hundred(ring, stands, pairs, lines=None):
        told.append(ring)
        return search(ring, stands, pairs, lines) if len(told) <= 100 or lines else None

    # What a refusal advises takes more than half of the time; where boards are laid by it (`lines`) it is always made.
    monkeypatch.setattr(freeing, "smallest_shift", first_hundred)
    look()
    # Enough of every kind was laid for that to say something.
    assert LAID["boards"] > 880
    assert LAID["refused"] > 80
    assert LAID["rows"] > 2 * LAID["boards"]
    assert min(LAID["short"], LAID["shared"], LAID["bearings"], LAID["alike"]) > 15


def test_rods_across_an_arm_are_seen():
    # The polygons themselves: the same board with two rows changed round has a rod across an arm.
    places = {1: Place(1, 0.0, 0.1), 2: Place(2, 0.05, 0.002)}
    board = lay_board(places, SIZES, str)
    assert overlaps(board, places) == []
    rollers = {note: replace(roller, row=1 - roller.row) for note, roller in board.rollers.items()}
    assert overlaps(replace(board, rollers=rollers), places) != []


def test_what_is_refused_cannot_be_laid():
    # On whatever rows, one roller a row: no order of the rollers is free. A row for two frees nothing more.
    chance, refused = random.Random(4), 0
    for _ in range(400):
        count = chance.randint(2, 4)
        keys = [0.01375 * i for i in range(count)]
        pallets = chance.sample([0.0137 * i + 0.001 for i in range(-1, count + 1)], count)
        places = {i: Place(i, keys[i], pallets[i]) for i in range(count)}
        sizes = replace(SIZES, shortest=0.004, clearance=chance.choice((0.006, 0.010)))
        stands, defects = stand_all(places, sizes, str)
        if defects:
            continue
        try:
            lay_board(places, sizes, str)
        except LayoutProblem:
            refused += 1
            for rows in permutations(range(count)):
                rollers = {
                    note: RollerPlace(note, rows[note], stand.key, stand.pallet, stand.bearings)
                    for note, stand in stands.items()
                }
                assert overlaps(Board(sizes, rollers, count, 0, 0, True), places) != []
    assert refused > 40
