"""Lines and marks of one panel differ, each by more than its colour."""

from keyaction.plots.style.pens import PENS, mark, pen


def test_no_two_of_the_first_21_lines_are_alike_with_or_without_their_markers():
    pens = [pen(i) for i in range(3 * len(PENS))]
    assert len(pens) == 21
    assert len({(one.color, one.dash) for one in pens}) == len({(one.color, one.marker) for one in pens}) == 21


def test_lines_of_one_round_have_a_colour_and_a_marker_each():
    for start in (0, 7, 14):
        row = [pen(i) for i in range(start, start + 7)]
        assert len({one.color for one in row}) == len({one.marker for one in row}) == 7
    assert [pen(i) for i in range(7)] == list(PENS)


def test_no_two_of_the_first_49_marks_are_alike():
    assert len({(mark(i).color, mark(i).marker) for i in range(49)}) == 49
