"""The picture of pallet sizes: what is drawn, and lettering that can be read."""

import numpy as np
import pytest
from figure_checks import outside, overlaps, words
from short_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.plots.compass.pallet_sizes import pallet_sizes
from keyaction.sim.sizes.result import sizes_result
from keyaction.sim.sizes.sizes import smallest_pallets


@pytest.fixture(scope="module")
def sized(tmp_path_factory):
    case = read_case(write_case(tmp_path_factory.mktemp("sizes")))
    return lambda notes, **more: sizes_result(case, smallest_pallets(case, notes, **more))


@pytest.mark.parametrize("units", ["trade", "si"])
@pytest.mark.parametrize("notes", ["C4:E4", "C4"])
def test_lettering_is_clear(sized, notes, units):
    figure = pallet_sizes(sized(notes), units)
    assert overlaps(figure) == [] and outside(figure) == []
    assert {"as drawn", "smallest that feeds", "by custom", "eye kept in its place"} <= set(words(figure))


def test_lines_are_the_sizes(sized):
    result = sized("C4:E4")
    lines = {line.get_label(): line.get_ydata() for line in pallet_sizes(result).axes[1].lines}
    np.testing.assert_allclose(lines["as drawn"], 1e3 * result["opening_drawn"])
    np.testing.assert_allclose(lines["smallest that feeds"], 1e3 * result["opening_smallest"])


def test_notes_without_a_size_are_marked(tmp_path):
    case = read_case(write_case(tmp_path), set_={"groove.stops.0.drawn": False})
    figure = pallet_sizes(sizes_result(case, smallest_pallets(case, "C4,C#4")))
    assert "no size" in words(figure)
    assert overlaps(figure) == [] and outside(figure) == []
