"""Which notes are reset: never more than trying every choice finds, and one shift where all share it."""

from itertools import product

import numpy as np
import pytest

from keyaction.sim.regulating.fewest import MOST, SHARED, Band, shared, singles


def fits(off, chosen, within, shift):
    """Whether notes are within the band with some reset, by its words alone."""
    rest = [0.0 if reset else one - shift for one, reset in zip(off, chosen, strict=True)]
    own = all(low <= one <= high for one, low, high in zip(rest, within.low, within.high, strict=True))
    figure = np.array(rest) * within.gain
    return own and bool(np.all(np.abs(np.diff(figure)) <= within.step))


def brute(off, within, shift=0.0):
    """Fewest resets of all choices."""
    tried = product([False, True], repeat=len(off))
    return min(sum(chosen) for chosen in tried if fits(off, chosen, within, shift))


@pytest.mark.parametrize("step", [np.inf, 0.5, 0.3])
@pytest.mark.parametrize("seed", range(6))
def test_no_choice_resets_fewer(seed, step):
    random = np.random.default_rng(seed)
    off, gain = random.normal(0.0, 0.4, 9), random.uniform(0.5, 2.0, 9)
    within = Band(np.full(9, -0.3), np.full(9, 0.6), step, gain)
    chosen = singles(off, within)
    assert fits(off, chosen, within, 0.0)
    assert chosen.sum() == brute(off, within)


def test_a_note_of_which_nothing_is_known_is_left_and_passed_over():
    off = np.array([0.0, np.nan, 0.55, np.nan, 0.0])
    within = Band(np.full(5, -1.0), np.full(5, 1.0), 0.5, np.ones(5))
    assert singles(off, within).tolist() == [False, False, True, False, False]


@pytest.mark.parametrize("seed", range(4))
def test_no_shift_leaves_fewer(seed):
    random = np.random.default_rng(seed)
    off = 0.8 + random.normal(0.0, 0.25, 7)
    within = Band(np.full(7, -0.3), np.full(7, 0.3), 0.5, np.ones(7))
    found = shared(off, within)
    least = min(brute(off, within, shift) for shift in np.linspace(-0.5, 2.0, 126))
    assert found != 0.0
    assert brute(off, within, found) <= least


def test_a_shift_that_all_share_is_found_whole():
    off = np.full(20, 0.8)
    off[7] = 2.0
    within = Band.of(np.full(20, -0.3), np.full(20, 0.3))
    shift = shared(off, within)
    assert shift == pytest.approx(0.8)
    assert np.flatnonzero(singles(off, within, shift)).tolist() == [7]


@pytest.mark.parametrize("many", [1, 4])
def test_some_notes_alone_are_no_common_shift(many):
    off = np.zeros(16)
    off[:many] = 1.0
    assert many < MOST * len(off)
    assert shared(off, Band.of(np.full(16, -0.3), np.full(16, 0.3))) == 0.0


def test_a_shift_that_spares_little_is_left():
    off = np.array([0.8] * 4 + [-0.8] * 4 + [0.0] * 2)
    within = Band.of(np.full(10, -0.3), np.full(10, 0.3))
    best = min(brute(off, within, shift) for shift in (0.8, -0.8, 0.0))
    assert best > SHARED * brute(off, within)
    assert shared(off, within) == 0.0
