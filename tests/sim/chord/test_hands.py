"""Drives of several keys: begun later, held, and ended together."""

import pytest

from keyaction.drives import force, stroke
from keyaction.sim.chord.hands import even, held, later


def test_later_is_the_same_a_while_after():
    drive = stroke(0.04, 0.1, 0.04, 0.01)
    moved = later(drive, 0.2)
    assert moved.mark("lift") == pytest.approx(drive.mark("lift") + 0.2)
    assert [piece.way_at(piece.start + 0.003) for piece in moved.pieces[1:]] == pytest.approx(
        [piece.way_at(piece.start + 0.003) for piece in drive.pieces]
    )
    assert moved.pieces[0].way == (0.0,)
    assert later(drive, 0.0) is drive
    with pytest.raises(ValueError, match="it must be 0 or above"):
        later(drive, -0.1)


def test_even_keeps_the_last_place():
    drives = even([stroke(0.04, 0.1, 0.04, 0.01), held(0.04, 0.01, 1.0, 3000.0), force(2.0, 0.02, 0.1, 0.02)])
    assert {round(drive.end, 9) for drive in drives} == {1.04}
    assert drives[0].pieces[-1].way_at(1.0) == 0.0
    assert drives[1].pieces[-1].way_at(1.0) == 0.01


def test_even_after_a_moving_piece():
    short = stroke(0.04, 0.1, 0.04, 0.01)
    cut = type(short)("motion", short.pieces[:1])
    (made, _) = even([cut, short])
    assert made.pieces[-1].way_at(0.3) == pytest.approx(0.01)
