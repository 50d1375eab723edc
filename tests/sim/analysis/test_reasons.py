"""Reasons that differ by their figures alone are told once."""

from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from keyaction.sim.analysis.reasons import by_cause, counted_by_cause

TURNS = "failed: square-{} turns by {} rad ({} degrees), beyond the 0.5 rad to which the equations hold"


def test_figures_that_differ_are_told_from_where_to_where_and_names_keep_theirs():
    told = Counter({TURNS.format(1, 0.52, 30): 3, TURNS.format(1, 1.5, 86): 1, TURNS.format(2, 0.6, 34): 2, "C4": 5})
    found = counted_by_cause(told)
    assert found == {TURNS.format(1, "0.52 to 1.5", "30 to 86"): 4, TURNS.format(2, 0.6, 34): 2, "C4": 5}


def test_signs_and_powers_belong_to_a_figure():
    told = by_cause(["at -0.5 mm, 1e-5 m2", "at 0.2 mm, 2e-4 m2", "at 0.1 mm, 2e-4 m2"])
    assert set(told.values()) == {"at -0.5 to 0.2 mm, 1e-5 to 2e-4 m2"}


def test_the_same_figure_written_in_two_ways_is_one():
    assert set(by_cause(["0.50 rad", "0.5 rad"]).values()) == {"0.50 rad"}


def test_names_of_notes_and_pieces_of_numbers_are_no_figures():
    told = ["C#4 hangs", "C#5 hangs", "it has 1.5mm", "it has 2.5mm", "a 1 b", "a # b"]
    assert by_cause(told) == {one: one for one in told}


@given(st.lists(st.text("ab1.-e# ()%", max_size=12), max_size=8))
def test_any_text_has_a_cause_and_none_is_lost(texts):
    told = by_cause(texts)
    assert set(told) == set(texts)
    assert sum(counted_by_cause(Counter(texts)).values()) == len(texts)
    assert all(told[one] == one for one in texts if len(set(texts)) == 1)
