"""Lettering does not lie over lettering."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from laid_out import Made, laid_out

from keyaction.plots.drawings.board import board_drawing
from keyaction.plots.drawings.boxes import about, overlap
from keyaction.plots.drawings.cuts import rod_cuts, roller_cuts
from keyaction.plots.drawings.dimensions import plain_items
from keyaction.plots.drawings.drawing import Drawing, Text
from keyaction.plots.drawings.fan import fan_drawing
from keyaction.plots.drawings.lettering import SMALL, corners, shortened, width, wrapped
from keyaction.plots.drawings.names import beside
from keyaction.plots.drawings.paper import Scale
from keyaction.plots.drawings.plan import plan
from keyaction.plots.drawings.side import side_views

ORDERS = ("chromatic", "two-sides", "thirds", "basses-outside")


def meeting(drawing: Drawing, of: tuple[str, ...] = ()) -> list[tuple[str, str]]:
    """Pairs of lettering of which one lies over the other; where kinds are named, of these only."""
    factor = drawing.scale.factor
    texts = [item for item in plain_items(drawing) if isinstance(item, Text) and (not of or item.of in of)]
    boxes = [(text.words, box, about(box)) for text in texts for box in [corners(text, factor, below=0.0)]]
    return [
        (a, b) for (a, one, near), (b, other, far) in combinations(boxes, 2) if near.meets(far) and overlap(one, other)
    ]


@pytest.mark.parametrize("scale", [Scale(1, 1), Scale(1, 2), Scale(1, 5)], ids=str)
@pytest.mark.parametrize("order", ORDERS)
def test_no_names_of_notes_overlap(order, scale):
    case = laid_out(Made(order=order))
    drawings = [plan(case, case.layout, scale), board_drawing(case.layout.board, roller_cuts(case, case.layout), scale)]
    for drawing in drawings:
        assert not drawing.crowded
        assert meeting(drawing) == []
        assert len([item for item in drawing.items if isinstance(item, Text) and item.of == "note"]) == 2 * 56


def test_no_names_overlap_where_both_rods_leave_to_one_side():
    case = laid_out(Made(order="chromatic", notes=(48, 52, 57, 60, 65), bar=0.04, pallets="below"))
    drawing = board_drawing(case.layout.board, roller_cuts(case, case.layout), Scale(1, 5))
    assert meeting(drawing) == []
    names = [item.words for item in drawing.items if isinstance(item, Text) and item.of == "note"]
    assert sorted(names)[:2] == ["A3 key", "A3 pallet"]


@pytest.mark.parametrize("note", [36, 60, 91])
def test_nothing_overlaps_in_a_side_view(note):
    case = laid_out()
    rods = [rod for rod in rod_cuts(case, case.layout) if rod.note == note]
    for drawing in side_views(case, case.layout, note, Scale(1, 5), rods, roller_cuts(case, case.layout)):
        assert not drawing.crowded
        assert meeting(drawing) == []


def test_no_names_overlap_in_a_fan():
    case = laid_out(Made(splayed="drop"))
    drawing = fan_drawing(case.layout, Scale(1, 5))
    assert drawing is not None
    assert meeting(drawing) == []


@given(
    st.lists(st.floats(-800, 800), min_size=1, max_size=61),
    st.sampled_from([0.05, 0.1, 0.2, 1.0]),
    st.sampled_from(["below", "above", "left", "right"]),
)
def test_rows_of_names_never_overlap(places, factor, side):
    named = [(place, f"D#{i}") for i, place in enumerate(places)]
    row = beside(named, 0.0, side, factor)
    assert meeting(Drawing("", "", Scale(round(100 * factor), 100), row.items)) == []
    assert sorted(item.words for item in row.items if isinstance(item, Text)) == sorted(words for _, words in named)


def test_lettering_is_as_wide_as_matplotlib_draws_it():
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextPath

    for words in ("C#4", "Roller board from the player", "1327.1"):
        path = TextPath((0, 0), words, size=100, prop=FontProperties(family="DejaVu Sans"))
        box = path.get_extents()
        # The ink is narrower than the line by the bearings of its first and last letter.
        assert box.x1 - box.x0 == pytest.approx(width(words, 72.9), rel=0.06)
    capital = TextPath((0, 0), "H", size=100, prop=FontProperties(family="DejaVu Sans")).get_extents()
    assert width("H", capital.y1) == pytest.approx(75.2, rel=0.01)  # advance of H in a font of size 100


def test_long_words_are_cut_off_or_wrapped():
    words = "a title " * 40
    assert width(shortened(words, SMALL, 80.0), SMALL) <= 80.0
    lines = wrapped(words, SMALL, 80.0)
    assert " ".join(lines) == words.strip()
    assert max(width(line, SMALL) for line in lines) <= 80.0
