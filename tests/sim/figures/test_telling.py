"""Verdicts as sentences, and why a note of a verdict lacks figures."""

import math

import pytest

from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.telling import read_verdict, sentence, why_none
from keyaction.sim.figures.verdict import Fate, Verdict

SENTENCES = {
    Fate.SPEAKS: "The note speaks and falls silent: because.",
    Fate.WEAK: "The note speaks weakly: because.",
    Fate.MUTE: "The note does not speak: because.",
    Fate.HANGS: "The note hangs: because.",
    Fate.CIPHER: "The note sounds unplayed (a cipher): because.",
    Fate.NO_WIND: "There is no wind: because.",
    Fate.HELD: "The note speaks, held by another hand: because.",
    Fate.UNKNOWN: "What becomes of the note is not known: because.",
}
NOTHING = float("nan")


@pytest.mark.parametrize("fate", Fate)
def test_every_verdict_is_a_sentence(fate):
    assert sentence(Verdict(fate, "because")) == SENTENCES[fate]
    assert sentence(Verdict(fate)) == SENTENCES[fate].replace(": because", "")


@pytest.mark.parametrize("fate", Fate)
@pytest.mark.parametrize("reason", ["", "let go, the pallet stays 5 mm open: held by the friction of roller"])
def test_a_verdict_is_read_back_from_its_text(fate, reason):
    assert read_verdict(str(Verdict(fate, reason))) == Verdict(fate, reason)


def test_a_text_that_is_no_verdict_says_nothing():
    assert read_verdict("whistles: for a test") == Verdict(Fate.UNKNOWN)


@pytest.mark.parametrize("fate", [fate for fate in Fate if fate not in (Fate.SPEAKS, Fate.HELD, Fate.UNKNOWN)])
def test_every_figure_that_a_verdict_leaves_out_has_its_reason(fate):
    left_out = [name for name, one in QUANTITIES.items() if fate in one.without]
    assert left_out
    for name in left_out:
        why = why_none(name, NOTHING, Verdict(fate))
        assert why.startswith(("the note ", "there is no wind")) and "(" not in why
        assert why_none(name, 1.0, Verdict(fate)) == ""


def test_a_verdict_is_no_reason_for_what_it_does_not_leave_out():
    assert why_none("pluck_ratio", NOTHING, Verdict(Fate.HANGS)) == ""
    assert why_none("overshoot", NOTHING, Verdict(Fate.SPEAKS)) == ""
    assert why_none("release_delay", NOTHING, Verdict(Fate.UNKNOWN)) == ""
    assert why_none("friction_at_key", math.nan, Verdict(Fate.SPEAKS)).startswith("the key does not come up")
