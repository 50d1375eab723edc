"""Lettering of plans: no words on other words, none on a line, none in the way of a help line."""

from functools import cache
from itertools import combinations, pairwise

import pytest

from keyaction.cases.action.reader import read_case
from keyaction.cases.instrument.reader import read_instrument
from keyaction.plots.drawings.boxes import overlap
from keyaction.plots.drawings.cuts import rod_cuts
from keyaction.plots.drawings.dimensions import plain_items
from keyaction.plots.drawings.drawing import Stroke, Text
from keyaction.plots.drawings.lettering import corners
from keyaction.plots.drawings.paper import Scale
from keyaction.plots.drawings.plan import plan
from keyaction.plots.drawings.save import save_drawings
from keyaction.plots.drawings.side import side_views

DIVISIONS = {"high": Scale(1, 5), "behind": Scale(1, 5), "pedal": Scale(1, 10)}
KINDS = {"hung-rollers": Scale(1, 5), "mixed-treble": Scale(1, 5), "wire-rollers": Scale(1, 5)}
SLACK = 0.05
"""mm on paper by which words may touch a line."""


@cache
def instrument():
    return read_instrument("demo-instrument")


def case_of(name):
    return instrument().divisions[name] if name in DIVISIONS else read_case(name)


def struck(items, factor):
    """Words that lie on other words or on a line."""
    texts = [(item, corners(item, factor)) for item in items if isinstance(item, Text)]
    slack = SLACK / factor
    found = [(a.words, b.words) for (a, one), (b, two) in combinations(texts, 2) if overlap(one, two, slack)]
    lines = [
        (item, ends)
        for item in items
        if isinstance(item, Stroke)
        for ends in pairwise((*item.points, item.points[0]) if item.closed else item.points)
    ]
    return found + [
        (a.words, line.of or line.layer) for a, one in texts for line, ends in lines if overlap(one, ends, slack)
    ]


@pytest.mark.parametrize(("name", "scale"), (DIVISIONS | KINDS).items())
def test_words_of_a_plan_lie_on_nothing(name, scale):
    case = case_of(name)
    drawing = plan(case, case.layout, scale)
    assert not drawing.crowded
    words = [item.words for item in drawing.items if isinstance(item, Text)]
    assert len(words) >= len(case.compass) * 2 and "rods of the keys" in words
    assert struck(plain_items(drawing), scale.factor) == []


@pytest.mark.parametrize(("name", "scale"), (DIVISIONS | KINDS).items())
def test_words_of_side_views_lie_on_nothing(name, scale):
    case = case_of(name)
    for note in (case.compass[0], case.compass[-1]):
        rods = [rod for rod in rod_cuts(case, case.layout) if rod.note == note]
        drawing = side_views(case, case.layout, note, scale, rods)[0]
        parts = {item.words for item in drawing.items if isinstance(item, Text) and item.of == "part"}
        assert len(parts) >= 3
        # Figures may lie on the thin lines that lead from axes to their places, names and what is thick on none.
        found = struck(plain_items(drawing), scale.factor)
        assert [(words, line) for words, line in found if line != "AXES" or words in parts] == []


def test_the_look_finds_what_it_is_to_find():
    line = Stroke("KEYS", ((0.0, 0.0), (0.0, 100.0)))
    assert struck([line, Text((-2.0, 50.0), "word")], 1.0) == [("word", "KEYS")]
    assert struck([Text((0.0, 0.0), "one"), Text((2.0, 1.0), "two")], 1.0) == [("one", "two")]
    assert struck([line, Text((1.0, 50.0), "word")], 1.0) == []


def test_depths_stand_left_of_all_that_is_drawn():
    """Behind the player too, where one counts forwards."""
    for name, scale in DIVISIONS.items():
        case = case_of(name)
        drawing = plan(case, case.layout, scale)
        plain = [item for item in plain_items(drawing) if isinstance(item, Stroke)]
        least = min(x for item in plain if item.layer != "DIMENSIONS" for x, _ in item.points)
        depths = [item for item in plain if item.of.startswith("front to")]
        assert len(depths) == 2
        assert all(x < least for item in depths for x, _ in item.points)


def test_side_views_of_a_division_lie_at_one_scale_on_one_paper(tmp_path):
    for name in ("behind", "pedal"):
        files = save_drawings(case_of(name), tmp_path / name, formats=["svg"]).files
        texts = [path.read_text("utf-8") for path in files if path.name.startswith("side-")]
        heads = {text[text.index("<svg") : text.index(" font-family")] for text in texts}
        scales = {text[text.index("drawn at") : text.index("</desc>")] for text in texts}
        assert len(texts) == 3 and len(heads) == len(scales) == 1
