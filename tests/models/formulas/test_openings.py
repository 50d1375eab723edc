"""Openings in steady flow: what a groove holds, and which opening that wants, against hand and custom."""

import math

import pytest

from keyaction.models.formulas.openings import (
    LONGEST,
    SECTION,
    WIDEST,
    creeping,
    custom_length,
    gap_for,
    groove_share,
    inlet_for,
)


@pytest.mark.parametrize(("outlet", "held"), [(0.5, 0.8), (1.0, 0.5), (2.0, 0.2)])
def test_two_orifices_in_series_share_the_drop_as_the_squares_of_their_areas(outlet, held):
    """Mid pressure 1 / (1 + (A2 / A1)^2): 0.8, 0.5 and 0.2 by hand."""
    assert groove_share(1.0, outlet) == pytest.approx(held, rel=1e-14)


@pytest.mark.parametrize("share", [0.5, 0.9, 0.99])
def test_the_inlet_is_the_inverse_of_the_share(share):
    assert groove_share(inlet_for(share, 3e-4), 3e-4) == pytest.approx(share, rel=1e-14)
    assert inlet_for(0.9, 1.0) == pytest.approx(3.0, rel=1e-14)


def test_a_shut_way_in_gives_nothing_and_a_shut_way_out_all():
    assert groove_share(0.0, 1e-4) == 0.0
    assert groove_share(1e-4, 0.0) == 1.0


def test_a_gap_of_three_behind_a_slot_of_four_is_as_wide_as_two_point_four():
    assert gap_for(2.4, 4.0) == pytest.approx(3.0, rel=1e-14)
    assert gap_for(4.0, 4.0) == math.inf


def test_flow_creeps_by_the_fourth_root():
    """Both flows alike: A_in f(drop) = A_out f(held), with f(p) = p / (p^2 + s^2)^(1/4)."""

    def flow(drop, smooth):
        return drop / (drop**2 + smooth**2) ** 0.25

    share, pressure, smooth = 0.99, 700.0, 1.0
    inlet = inlet_for(share, 1.0) * creeping(share, pressure, smooth)
    assert inlet * flow((1 - share) * pressure, smooth) == pytest.approx(flow(share * pressure, smooth), rel=1e-12)
    assert creeping(0.5, 700.0, 1.0) == 1.0


def test_custom_gives_back_the_pallet_that_it_is_read_from():
    """144 lines long, 12 wide, its end 2.5 down: 390 square lines over a groove of 378 (Dom Bedos, art. 475)."""
    assert custom_length(378.0, 2.5 / 144, 0.0, 12.0) == pytest.approx(144.0, rel=1e-12)
    assert pytest.approx(390 / 378) == SECTION
    assert (LONGEST, WIDEST) == (0.325, 0.020)


def test_custom_counts_the_drop_at_the_free_end():
    turn, hinge, width, section = 0.04, 0.012, 0.014, 1.12e-3
    length = custom_length(section, turn, hinge, width)
    assert turn * (hinge + length) * (length + width) == pytest.approx(SECTION * section, rel=1e-12)
    assert custom_length(section, 0.0, hinge, width) == math.inf
    assert custom_length(1e-9, turn, hinge, width) == 0.0
