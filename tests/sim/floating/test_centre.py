"""Nuts set to equal shares with the rail at its centre."""

import numpy as np
import pytest
from springs_on_a_rail import rail, springs

from keyaction.sim.floating.centre import centred


def test_each_rod_is_stretched_to_its_share():
    held = springs(rail(12.0), [1000.0, 2000.0, 4000.0], gains=[1.0, 0.5, 1.0], slack=0.3e-3, opens=np.inf)
    found = centred(held)
    assert found.share == 4.0
    assert found.stretch == pytest.approx([4.3e-3, 4.3e-3, 1.3e-3], rel=1e-9)
    assert found.pulls == pytest.approx([4.0] * 3, rel=1e-9)
    assert held.course(found.stretch[:, None]).place == pytest.approx(0.0, abs=1e-12)
    assert found.opens == found.heavy == ()


def test_a_note_whose_pallet_would_open_says_so_and_pulls_what_it_can():
    held = springs(rail(12.0), [1000.0, 4000.0, 4000.0], opens=2e-3)
    found = centred(held)
    assert found.opens == (60,)
    assert found.stretch == pytest.approx([2e-3, 1e-3, 1e-3], rel=1e-9)
    assert found.pulls == pytest.approx([2.0, 4.0, 4.0], rel=1e-9)


def test_a_note_whose_own_weight_is_more_than_its_share_says_so_and_hangs_just_taut():
    found = centred(springs(rail(0.3), [1000.0] * 3, weight=0.2, slack=0.5e-3))
    assert found.heavy == (60, 61, 62)
    assert found.stretch == pytest.approx([0.5e-3] * 3, abs=1e-9)


def test_another_load_than_the_rails_own():
    held = springs(rail(12.0), [1000.0] * 4)
    assert centred(held, load=2.0).stretch == pytest.approx([0.5e-3] * 4, rel=1e-9)
    assert np.all(centred(held.loaded(2.0)).stretch == centred(held, load=2.0).stretch)


def test_no_known_stretch_pulls_so_much():
    held = springs(rail(1e9), [1000.0], opens=np.inf)
    found = centred(held)
    assert found.opens == (60,)
    assert found.stretch == pytest.approx([5e-3])
