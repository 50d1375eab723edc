"""Paper and scales against the standards."""

import itertools

import pytest

from keyaction.plots.drawings.layers import GROUPS, LAYERS, width_of
from keyaction.plots.drawings.paper import PAPERS, SCALES, BadSheet, Scale, lying, read_paper, read_scale, standing

ISO_128 = (0.13, 0.18, 0.25, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0)
"""Widths of lines, mm; second-hand, 1.4 from memory."""


def test_sizes_of_iso_216():
    # ISO 216, second-hand: A0 is a square metre whose sides are as 1 to the root of 2, each next size the half of it.
    assert PAPERS["A0"] == (841, 1189)
    names = ["A0", "A1", "A2", "A3", "A4"]
    for larger, smaller in itertools.pairwise(names):
        assert PAPERS[smaller] == (PAPERS[larger][1] // 2, PAPERS[larger][0])
    assert PAPERS["A0"][0] * PAPERS["A0"][1] == pytest.approx(1e6, rel=1e-3)


def test_scales_of_iso_5455():
    # ISO 5455:1979, read: 50:1, 20:1, 10:1, 5:1, 2:1; 1:1; 1:2, 1:5, 1:10 ... 1:10 000.
    told = [str(one) for one in SCALES]
    assert told[:9] == ["50:1", "20:1", "10:1", "5:1", "2:1", "1:1", "1:2", "1:5", "1:10"]
    assert told[-1] == "1:10000"
    assert [one.factor for one in SCALES] == sorted((one.factor for one in SCALES), reverse=True)


def test_lines_are_of_the_series_and_thick_ones_twice_as_wide():
    for thick, thin in GROUPS:
        assert {thick, thin} <= set(ISO_128)
        assert thick / thin == pytest.approx(2, rel=0.03)  # the series goes by the root of 2, rounded
    for factor in (0.02, 0.1, 0.2, 0.5, 1.0):
        assert {width_of(layer, factor) for layer in LAYERS.values()} in [set(group) for group in GROUPS]


@pytest.mark.parametrize(("text", "told"), [("1:5", "1:5"), (" 2 : 10 ", "1:5"), ("1:1", "1:1"), ("1/20", "1:20")])
def test_scales_are_read(text, told):
    assert str(read_scale(text)) == told


@pytest.mark.parametrize(("text", "near"), [("1:4", "1:5"), ("1:3", "1:2"), ("1:7", "1:5"), ("3:1", "2:1")])
def test_another_scale_is_refused_with_the_nearest(text, near):
    with pytest.raises(BadSheet, match=f"none of ISO 5455 .*the nearest is {near}$"):
        read_scale(text)


@pytest.mark.parametrize("text", ["", "5", "1:0", "0:1", "one to five", "1:-5"])
def test_what_is_no_scale_says_how_one_looks(text):
    with pytest.raises(BadSheet, match="such as 1:5"):
        read_scale(text)


def test_paper_is_read():
    assert read_paper(" a3 ") == "A3"
    with pytest.raises(BadSheet, match=r"paper 'B4' is not known: A4, A3, A2, A1, A0"):
        read_paper("B4")
    assert (lying("A4").width, standing("A4").width) == (297, 210)
    assert Scale(1, 5).factor == 0.2
