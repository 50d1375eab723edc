"""The small cases of every kind of action: nothing to warn of, every note plays, and the README says what they are."""

import re
from pathlib import Path

import numpy as np
import pytest
from assisted import ASSISTED
from kinds_by_hand import KINDS
from shipped import shipped_cases

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import check_trains
from keyaction.sim.lanes.evaluate import evaluate
from keyaction.sim.run.checking import warnings
from keyaction.sim.run.standings import standings

ROOT = Path(__file__).resolve().parents[2]
BY_HAND = (*KINDS, *ASSISTED)
"""Those that branch or have contacts that move by `test_assisted_pallets.py`, all others by one calculation."""
SHIPPED = sorted(path.stem for path in (ROOT / "cases" / "kinds").glob("*.toml"))
RANGES = {
    "key_dip": (8e-3, 12e-3),
    "steady_lift": (4e-3, 9e-3),
    "pluck_force": (0.8, 2.5),
    "pluck_point": (3e-4, 4e-3),
    "repetition_rate": (6.0, 20.0),
    "speech_delay": (2e-3, 30e-3),
    "groove_share": (0.9, 1.0),
}
"""Common practice; a suspended key plucks near the top of its dip."""


@pytest.fixture(scope="module", params=SHIPPED)
def kind(request):
    case = read_case(request.param)
    trains = check_trains(case, case.compass)
    return case, trains, standings(trains, case.strokes)


@pytest.mark.one_in(2)
def test_nothing_is_to_be_warned_of(kind):
    case, _, stands = kind
    assert case.warnings == ()
    assert warnings(case, stands) == []


@pytest.mark.one_in(2)
def test_every_note_speaks_and_falls_silent(kind):
    _, _, stands = kind
    assert {str(one.verdict) for one in stands.values()} == {"speaks and falls silent"}


@pytest.mark.one_in(2)
def test_every_note_lies_in_the_trades_range(kind):
    case, trains, _ = kind
    assert 3 <= len(case.compass) <= 13
    found = evaluate(list(trains.values()), case.strokes, [*RANGES, "closing_force"], sample=0).quantities
    for name, (low, high) in RANGES.items():
        assert np.all((found[name] >= low) & (found[name] <= high)), name
    assert np.all(found["closing_force"] > 0.3)
    steps = np.abs(np.diff(found["pluck_force"])) / found["pluck_force"][1:]
    assert np.all(steps < 0.07)  # no step that a finger can tell


def test_each_is_held_against_a_calculation_by_hand():
    assert sorted(BY_HAND) == SHIPPED


def test_each_is_found_by_name_and_says_that_it_is_invented():
    found = shipped_cases()
    for name in SHIPPED:
        assert found[name].samefile(ROOT / "cases" / "kinds" / f"{name}.toml")
        text = found[name].read_text(encoding="utf-8")
        assert re.search(r"Invented; no\s+(# )?real instrument", text)


def test_the_readme_lists_them():
    text = (ROOT / "cases" / "README.md").read_text(encoding="utf-8")
    section = text.split("\n## Kinds of action\n")[1].split("\n## ")[0]
    assert re.findall(r"^\| `([a-z0-9-]+)` \|", section, re.MULTILINE) == list(BY_HAND)
