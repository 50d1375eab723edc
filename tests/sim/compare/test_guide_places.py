"""Places of guides: clear in every state, the fewest that are, past posts; what the guides of a case leave."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.cases.text.find import find_case
from keyaction.models.formulas import sections
from keyaction.sim.compare.advice import guide_advice
from keyaction.sim.compare.case_guides import sentences, warned
from keyaction.sim.compare.guide_places import clear_span, propose, span_frequencies, states_of
from keyaction.sim.compare.rod_facts import Seasons, rod_facts
from keyaction.sim.compare.rod_spans import TOP, Pulls
from keyaction.sim.run.standings import standings

LINE, BENDING = 403.2e-5, 1.1 * 9.9e9 * 0.010 * 0.001**3 / 12
"""kg/m and N m2 of a strip of Sitka spruce 10 x 1 mm."""
PULLS = {
    "a tracker": Pulls(0.0, 1.6, 0.8),
    "one that hangs": Pulls(0.3, 1.6, 0.8),
    "a sticker": Pulls(-0.02, -0.4, -0.3),
}


def spans(places, length):
    return [b - a for a, b in pairwise((0.0, *places, length))]


@pytest.mark.parametrize("pull", PULLS.values(), ids=PULLS)
@pytest.mark.parametrize("length", [0.3, 1.2, 2.9])
def test_the_spans_between_proposed_guides_keep_clear_and_one_guide_fewer_does_not(pull, length):
    # By the frequency itself, in every state: slack (of what pulls), at rest, at the pluck, held.
    states = states_of(pull)
    assert set(states) == {"at rest", "at the pluck", "held"} | ({"slack"} if not pull.pushes else set())
    found = propose(length, clear_span(states, LINE, BENDING))
    for span in spans(found.places, length):
        for force in states.values():
            assert sections.span_frequency(force, LINE, span, BENDING) >= TOP * (1 - 1e-9)
    if found.places:
        fewer = length / len(found.places)
        heard = span_frequencies(states, fewer, LINE, BENDING)
        assert min(heard.values()) < TOP


POSTS = ((0.35, 0.62), (0.9, 1.0), (1.3, 1.31))


def test_past_posts_the_guides_are_as_even_as_they_can_be():
    found = propose(1.8, 0.5, POSTS)
    assert not [place for place in found.places for low, high in POSTS if low < place < high]
    assert max(spans(found.places, 1.8)) == pytest.approx(found.longest)
    assert found.longest <= 0.5
    # By hand: a guide stands at 350 mm at the furthest before the first post, and at 620 mm at the nearest behind it.
    assert found.places[0] <= 0.35 + 1e-12 or found.places[0] >= 0.62 - 1e-12


TICKS = 24


@settings(max_examples=60)
@given(
    st.lists(st.tuples(st.integers(1, TICKS - 2), st.integers(1, 4)), max_size=3),
    st.integers(3, 12),
)
def test_no_other_row_of_guides_does_with_fewer(posts, step):
    # Every row of guides on a grid of 1/24 of the rod, tried out: the ends of posts lie on it.
    clear = [(low / TICKS, min(low + wide, TICKS) / TICKS) for low, wide in posts]
    found = propose(1.0, step / TICKS, clear)
    open_ = [i / TICKS for i in range(1, TICKS) if not any(low < i / TICKS < high for low, high in clear)]
    best = fewest([0.0, *open_, 1.0], step / TICKS)
    assert (None if found.places is None else len(found.places)) == best
    if found.places is not None:
        assert max(spans(found.places, 1.0)) <= step / TICKS * (1 + 1e-9)
        assert not [p for p in found.places for low, high in clear if low + 2e-9 < p < high - 2e-9]


def fewest(places, step):
    """Guides on the shortest way from the first place to the last in such steps; None if there is no way."""
    reached, count = {places[0]}, -1
    while places[-1] not in reached:
        further = {b for a in reached for b in places if a < b <= a + step * (1 + 1e-9)} - reached
        if not further:
            return None
        reached, count = reached | further, count + 1
    return count


def test_where_no_guide_can_stand_near_enough_the_place_is_told():
    found = propose(2.0, 0.4, [(0.5, 1.1)])
    assert found.places is None
    assert found.stuck == pytest.approx(0.5)
    assert math.isnan(found.longest)


# -- told ------------------------------------------------------------------------------------------------
GUIDES = (
    'guides = { stations = [{ at = "390 mm" }, { at = "1200 mm" }], keep_clear = [{ from = "430 mm", to = "700 mm" }] }'
)


@pytest.fixture(scope="module")
def stand(tmp_path_factory):
    folder = tmp_path_factory.mktemp("guides")
    text = find_case("demo-wood").read_text(encoding="utf-8")
    (folder / "guided.toml").write_text(text.replace('name = "level-tracker"', f'name = "level-tracker"\n{GUIDES}'),
                                        encoding="utf-8")  # fmt: skip
    (folder / "demo-chest.csv").write_bytes(find_case("demo-wood").with_name("demo-chest.csv").read_bytes())
    case = read_case(folder / "guided.toml")
    return case, standings({note: train_of(case, note) for note in (59, 60, 61)}, case.strokes)


def test_check_tells_the_spans_that_the_band_hits_and_where_guides_should_stand(stand):
    case, found = stand
    first, second = sentences(found[60], "trade")
    # By hand, 810 mm of cedar 1.2 mm thick, in which a pull travels at 4861 m/s.
    hertz = math.pi / (2 * 0.81**2) * 1.2e-3 / math.sqrt(12) * 4861
    assert first.startswith(f"level-tracker: 2 guides, longest span 810 mm: slack {hertz:.2f} Hz, at rest")
    assert "of way from rest to the pluck" in first
    assert "It whips below 5 Hz, and is shaken by every stroke slack and at rest." in second
    assert "It whips as fast as a key is repeated held." in second
    assert "3 guides at 430 mm, " in second and "the fewest that do: no span above" in second
    (line,) = warned(case, found)
    assert line == (
        "B3 to C#4: the longest span of level-tracker whips as fast as a key is repeated, slower, or buckles: slack, "
        "at rest, held"
    )


def test_a_case_without_places_says_nothing_of_them():
    case = read_case("demo-wood")
    found = standings({60: train_of(case, 60)}, case.strokes)
    assert sentences(found[60], "trade") == []
    assert warned(case, found) == []


def test_a_comparison_tells_what_the_cases_guides_leave(stand):
    case, _ = stand
    facts = rod_facts(train_of(case, 60).part("level-tracker"), Pulls(0.0, 1.5, 0.8), Seasons())
    assert (facts["stations"], facts["station_span"]) == (2.0, pytest.approx(0.81))
    assert facts["station_lowest"] == pytest.approx(4.03, abs=0.01)
    told = guide_advice(facts, "trade")
    assert told.endswith(". The case's 2 guides leave a span of 810 mm, which keeps to 4.03 Hz or more")
    pushed = rod_facts(train_of(case, 60).part("level-tracker"), Pulls(0.0, -9.0, -9.0), Seasons())
    assert guide_advice(pushed, "trade").endswith("which buckles")
