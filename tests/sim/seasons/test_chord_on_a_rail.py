"""The chord that is tried on a rail where none is stated."""

from keyaction.sim.seasons.held import spread_out


def test_the_hardest_notes_that_hands_can_hold():
    pulls = {note: 100.0 - note for note in range(36, 92)}  # the bass pulls most
    assert spread_out(pulls, 4) == (36, 39, 42, 45)
    assert len(spread_out(pulls, 10)) == 10
    assert spread_out({60: 1.0, 61: 2.0}, 10) == (61,)
