"""Rods between guides: what they pull, how they whip and sag in each state, what guides they need and how these rub."""

import math

import numpy as np
import pytest

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.cases.text.find import find_case
from keyaction.models.formulas import sections, spans
from keyaction.models.materials.library import default_library
from keyaction.sim.compare.advice import guide_advice
from keyaction.sim.compare.rod_choice import guided
from keyaction.sim.compare.rod_facts import STACK_GAP, Seasons, pulls, rod_facts, stack
from keyaction.sim.compare.rod_spans import Pulls, span_facts
from keyaction.sim.figures.play import press_note
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.run.run import run

LIBRARY = default_library()
STATES = ("rest", "held")


@pytest.fixture(scope="module")
def demo():
    """The demo's C4 pressed slowly by SciPy, its train, and the pulls in its trackers."""
    case = read_case("demo-wood")
    record = press_note(NoteModel(train_of(case, "C4")), case.strokes)
    rods = ("riser", "level-tracker", "drop")
    return record.model.train, {rod: pulls(record, rod) for rod in rods}


def test_the_pull_at_rest_by_hand(demo):
    # Half of each upright tracker hangs on the middle of it; the level one lies slack in its guides.
    _, found = demo
    for rod, half in (("riser", 0.6 / 2), ("drop", 1.2 / 2)):
        weight = (1120 * 0.32 * 0.010 * 0.0012 * half + 0.0005) * 9.80665
        assert found[rod].rest == pytest.approx(weight, rel=1e-3)
    assert found["level-tracker"].rest == 0.0
    assert all(one.rest < 0.05 < 0.8 < one.held < one.pluck for one in found.values())


def test_a_splayed_rod_pulls_more_than_it_moves_and_its_guides_hold_it_aside():
    given = {"level-tracker.splay": "20 deg", "level-tracker.guides.coefficient": 0.2}
    case = read_case("demo-wood", set_=given)
    record = press_note(NoteModel(train_of(case, "C4")), case.strokes)
    pull, moves = pulls(record, "level-tracker"), record.press.down["force_level-tracker"][-1]
    slant = math.radians(20)
    assert pull.held == pytest.approx(moves / math.cos(slant), rel=1e-12)
    facts = rod_facts(record.model.train.part("level-tracker"), pull, Seasons())
    expected = facts["weight_friction"] + 2 * 0.2 * math.tan(slant) * moves
    assert facts["guide_friction"] == pytest.approx(expected, rel=1e-9)


def test_guides_keep_the_slack_rod_clear_too_and_what_would_save_some(demo):
    # At rest its stiffness alone holds the run, so that it needs more guides than the pull held would. By hand, a strip
    # of 1.2 mm in which a pull travels at 4861 m/s: pi/(2 x 0.6^2) x 1.2e-3/sqrt(12) x 4861 = 7.35 Hz between two.
    train, found = demo
    facts = rod_facts(train.part("level-tracker"), found["level-tracker"], Seasons())
    top, line, bending = spans.REPETITION_BAND[1], facts["rod_line"], train.part("level-tracker").figure("EI")
    assert facts["clear_rest"] == pytest.approx(math.sqrt(math.pi / (2 * top)) * (bending / line) ** 0.25, rel=1e-9)
    assert (facts["guides"], facts["guides_held"]) == (3, 2)
    assert 5.0 < facts["few_rest"] == pytest.approx(7.35, abs=0.01)  # amid the band in which keys are repeated
    assert facts["few_rest"] < top <= facts["guided_rest"] < facts["guided_held"]
    again = sections.span_frequency(facts["rest_wanted"], line, 1.8 / 3, bending)
    assert again == pytest.approx(top, rel=1e-9)
    told = guide_advice(facts, "trade")
    assert told.startswith("3 guides, one every 450 mm, keep it clear at rest and held. Held alone 2 would do; with")
    assert "it whips at 7.35 Hz at rest, unless its pull at rest is 35.5 gf or more" in told


def facts_of(pull, length=1.5, thick=0.001, sag=True):
    bar = sections.rectangle(0.010, thick)
    bending = 9.9e9 * bar.weak_axis
    found = span_facts(pull, length, 403.2 * bar.area, bending, bending if sag else None)
    return {"rod_length": length, **found}


def test_where_guides_alone_cannot_it_is_said_with_what_would():
    # A strip of 0.3 mm is too limp when slack: guides nearer than 300 mm would be wanted.
    told = guide_advice(facts_of(Pulls(0.0, 2.0, 0.9), thick=0.0003), "trade")
    assert told.startswith("guides alone cannot keep it clear at rest and held: 5 guides, one every 250 mm")
    assert "a pull at rest of" in told and "or a section stiffer for its weight would help" in told


def test_a_rod_that_is_short_needs_no_guides():
    told = guide_advice(facts_of(Pulls(0.0, 2.0, 0.9), length=0.4), "trade")
    assert told == "needs no guides: it keeps clear at rest and held over its whole length"
    assert guide_advice({"rod_length": 1.0}, "trade").startswith("no guides can be advised")


def test_a_note_that_is_never_held_is_advised_for_its_rest():
    facts = facts_of(Pulls(0.0, math.nan, math.nan))
    assert "clear_held" not in facts and "sag_lost" not in facts
    assert "keep it clear at rest, the only state reached" in guide_advice(facts, "trade")


def test_a_pushed_rod_is_softest_at_the_pluck():
    # Euler's push of the whole length is 0.036 N: a sticker of that section buckles without guides.
    facts = facts_of(Pulls(-0.005, -2.0, -0.9), sag=False)
    assert facts["clear_pluck"] < facts["clear_held"] < facts["clear_rest"]
    assert "span_held" in facts and np.isnan(facts["span_held"]) and facts["span_rest"] > 0
    span = 1.5 / (facts["guides"] + 1)
    assert span <= facts["clear_pluck"]
    assert sections.euler_load(9.9e9, 0.010 * 0.001**3 / 12, span) > 2.0
    assert "clear at rest, at the pluck and held" in guide_advice(facts, "trade")


def test_a_push_deepens_the_sag_and_costs_way():
    facts = facts_of(Pulls(0.0, -2.0, -0.9))
    assert facts["sag_guided_held"] > facts["sag_guided_rest"]
    span = 1.5 / (facts["guides"] + 1)
    line, bending = 403.2 * 1e-5, 9.9e9 * 0.010 * 0.001**3 / 12
    slack, pressed = (spans.shortening(force, line, span, bending) for force in (0.0, -2.0))
    lost = (facts["guides"] + 1) * (pressed - slack)
    assert facts["sag_guided_lost"] == pytest.approx(lost, rel=1e-9) and lost > 0


def test_a_sticker_stands_among_the_rods_with_its_push(tmp_path):
    text = (
        find_case("demo-wood")
        .read_text(encoding="utf-8")
        .replace(
            'part = "tracker"\nname = "riser"\nlength = "600 mm"', 'part = "sticker"\nname = "riser"\nlength = "600 mm"'
        )
    )
    (tmp_path / "pushed.toml").write_text(text, encoding="utf-8")
    (tmp_path / "demo-chest.csv").write_bytes(find_case("demo-wood").with_name("demo-chest.csv").read_bytes())
    case = read_case(tmp_path / "pushed.toml")
    assert [part.name for part in guided(case)] == ["riser", "level-tracker", "drop"]
    record = press_note(NoteModel(train_of(case, "C4")), case.strokes)
    pull = pulls(record, "riser")
    assert pull.pushes and pull.pluck < pull.held < 0
    facts = rod_facts(record.model.train.part("riser"), pull, Seasons())
    assert facts["guides"] > 0 and "sag_rest" not in facts


def test_on_edge_a_strip_sags_less_stands_closer_and_whips_as_before(case_path):
    facts, stacks = {}, {}
    for lies in ("flat", "on-edge"):
        case = read_case(case_path, set_={"level-tracker.lies": lies})
        facts[lies] = rod_facts(train_of(case, 60).part("level-tracker"), Pulls(0.2, 1.5, 0.8), Seasons())
        stacks[lies] = stack([train_of(case, note).part("level-tracker") for note in case.compass])
    for name in ("span_rest", "span_held", "clear_rest", "guides", "guided_rest"):
        assert facts["flat"][name] == facts["on-edge"][name]
    assert all(facts["on-edge"][f"sag_guided_{state}"] < facts["flat"][f"sag_guided_{state}"] for state in STATES)
    assert stacks["flat"]["stack_breadth"] == pytest.approx(8 * 0.010 + 7 * STACK_GAP)
    assert stacks["on-edge"]["stack_breadth"] == pytest.approx(8 * 0.001 + 7 * STACK_GAP)
    # On edge it is bent about its broad side, a hundred times as stiff: slack, it hangs through a hundredth as far.
    slack = {lies: rod_facts(train_of(read_case(case_path, set_={"level-tracker.lies": lies}), 60).part(
        "level-tracker"), Pulls(0.0, 1.5, 0.8), Seasons()) for lies in facts}  # fmt: skip
    assert slack["flat"]["sag_guided_rest"] == pytest.approx(100 * slack["on-edge"]["sag_guided_rest"], rel=1e-9)


def test_the_friction_of_guides_by_hand(case_path):
    # A strip of spruce 10 x 1 mm weighs 4.03 g a metre; two fittings of 0.5 g.
    guides = {"level-tracker.guides.coefficient": 0.2, "level-tracker.guides.angle": "5 deg"}
    plain, held = (
        rod_facts(train_of(read_case(case_path, set_=given), 60).part("level-tracker"), Pulls(0.0, 1.5, 0.8), Seasons())
        for given in ({}, guides)
    )
    weight = (1120 * 0.36 * 1e-5 * 1.4 + 2 * 0.0005) * 9.80665
    assert held["weight_friction"] == pytest.approx(0.2 * weight, rel=1e-9)
    assert held["guide_friction"] == pytest.approx(0.2 * weight + 0.2 * math.radians(5) * 0.8, rel=1e-9)
    assert "guide_friction" not in plain
    cloth = LIBRARY.get("cloth-on-pin")["coefficient"].value
    assert plain["weight_friction"] == pytest.approx(cloth * weight, rel=1e-9)


def test_a_case_plays_the_friction_of_a_rod_in_its_guides(case_path):
    # The rod's weight on its guides reaches the key through arms of 1:1 and the key's 250:400, down and up alike.
    loads = {"level-tracker.mass": "120 g", "level-tracker.stiffness": "20 N/mm"}
    plain, guides = (
        run(read_case(case_path, set_={**loads, **more}), "C4").value("friction_at_key", "C4")
        for more in ({}, {"level-tracker.guides.coefficient": 0.2})
    )
    assert guides - plain == pytest.approx(0.2 * 0.120 * 9.80665 * 250 / 400, rel=0.05)
