"""Figures as published: what holds, how it is written, and what a figure that cannot be computed comes to."""

import math

import pytest

from keyaction.sim.published.observation import AtLeast, Between, Near, Observation, Source, observe

SOURCE = Source("A. Author, Invented tables, 1900, Table 1", "read")


def row(figure, ours):
    return Observation("subject", "quantity", figure, "mm", SOURCE, ours)


@pytest.mark.parametrize(
    ("figure", "within", "without"),
    [
        (Near(10.0, absolute=0.5), (9.5, 10.0, 10.5), (9.49, 10.51)),
        (Near(-10.0, relative=0.01), (-9.9, -10.1), (-9.89, -10.11, 10.0)),
        (AtLeast(6.0), (6.0, 1e9), (5.99, -6.0)),
        (AtLeast(100.0, 0.04), (100.0, 104.0), (99.9, 104.1)),
        (Between(2.0, 6.0), (2.0, 6.0), (1.99, 6.01)),
        (Between(high=0.5), (-1.0, 0.5), (0.51,)),
    ],
)
def test_what_holds(figure, within, without):
    assert all(observe(row(figure, lambda x=x: x)).holds for x in within)
    assert not any(observe(row(figure, lambda x=x: x)).holds for x in without)


@pytest.mark.parametrize("figure", [Near(1.0, absolute=1e9), AtLeast(-math.inf), Between(high=1e300)])
@pytest.mark.parametrize("ours", [math.nan, math.inf, -math.inf])
def test_no_number_holds_nowhere(figure, ours):
    assert not observe(row(figure, lambda: ours)).holds


def test_what_goes_wrong_is_the_rows_own():
    found = observe(row(Near(1.0, absolute=1.0), lambda: 1 / 0))
    assert not found.holds
    assert found.reason == "ZeroDivisionError: division by zero"
    with pytest.raises(KeyboardInterrupt):
        observe(row(Near(1.0, absolute=1.0), _interrupted))


def _interrupted():
    raise KeyboardInterrupt


@pytest.mark.parametrize(
    ("figure", "ours", "published", "shown", "difference", "allowed"),
    [
        (Near(6.2, absolute=0.06), 6.16975, "6.2", "6.17", "-0.03", "±0.06"),
        (Near(1.19936, relative=5e-4), 1.1993106, "1.19936", "1.19931", "-0.0041 %", "±0.05 %"),
        (Near(187.5, relative=1e-6), 187.5 + 1e-13, "187.5", "187.5", "0", "±0.0001 %"),
        (Near(-2.0, relative=0.1), -2.1, "-2", "-2.1", "+5 %", "±10 %"),
        (AtLeast(387.0, 0.04), 391.2, "≥ 387", "391.2", "+1.1 %", "+4 %"),
        (AtLeast(6.0), 9.7, "≥ 6", "9.7", "+62 %", "or more"),
        (Between(2.0, 6.0), 1.9, "2 to 6", "1.9", "-0.1", "range"),
        (Between(high=0.5), 0.6, "≤ 0.5", "0.6", "+0.1", "range"),
        (Between(high=0.5), 0.4, "≤ 0.5", "0.4", "inside", "range"),
    ],
)
def test_how_it_is_written(figure, ours, published, shown, difference, allowed):
    written = figure.published(), figure.shown(ours), figure.difference(ours), figure.allowed()
    assert written == (published, shown, difference, allowed)


@pytest.mark.parametrize(
    "made",
    [
        lambda: Near(1.0),
        lambda: Near(1.0, absolute=0.1, relative=0.1),
        lambda: Near(1.0, absolute=-0.1),
        lambda: Near(0.0, relative=0.1),
        lambda: Between(2.0, 1.0),
        lambda: Between(1.0),
        lambda: Source("somebody, somewhere", "surely"),
    ],
)
def test_a_slip_in_a_row_is_refused(made):
    with pytest.raises(ValueError, match=r"tolerance|range|trust"):
        made()
