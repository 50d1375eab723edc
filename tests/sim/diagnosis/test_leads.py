"""A lead that is missing at the tail of a key, in the text of a case: told as such, and by its weight at the front."""

import numpy as np
import pytest

import keyaction as ka
from keyaction.cases.action.trains import check_trains
from keyaction.cases.text.find import find_case
from keyaction.models.units.names import STANDARD_GRAVITY
from keyaction.sim.diagnosis.diagnosis import answers_for, diagnose
from keyaction.sim.diagnosis.hypotheses import hypotheses
from keyaction.sim.measuring.computed import computed, drawn_levels
from keyaction.sim.measuring.synthetic import read_off

AT = 64
LESS, BEHIND = 0.020, 0.150


@pytest.fixture(scope="module")
def trains(tmp_path_factory):
    """The case, its note as drawn, and with 20 g less at the tail."""
    folder, path = tmp_path_factory.mktemp("lead"), find_case("demo-wood")
    for other in path.parent.glob("demo-*.csv"):
        (folder / other.name).write_text(other.read_text())
    (folder / "less.toml").write_text(
        path.read_text().replace('mass = "40 g", at = "-150 mm"', 'mass = "20 g", at = "-150 mm"')
    )
    cases = [ka.read_case(str(path)), ka.read_case(str(folder / "less.toml"))]
    return cases[0], *(check_trains(case, [AT])[AT] for case in cases)


def test_a_lead_is_missing_by_its_weight_at_the_front(trains):
    case, drawn, less = trains
    front = drawn.value(drawn.key.name, "r_front")
    wanted = LESS * STANDARD_GRAVITY * BEHIND / front
    assert wanted / STANDARD_GRAVITY == pytest.approx(0.013, abs=0.0005)
    both = computed([drawn, less], case.strokes)
    assert np.all(both.values[1, 5:] < both.values[0, 5:])  # lighter to press, and less to come up
    read = read_off(
        [AT], computed([less], case.strokes).from_level(drawn_levels([drawn], case.strokes)), 1, figures=("hold", "up")
    )
    found = diagnose(answers_for({AT: drawn}, read, case.strokes), read).found[0]
    lead = next(cause.faults[0] for cause in found.causes if cause.name == "lead")
    assert "a lead is missing" in lead.hypothesis.said()
    assert lead.low <= wanted <= lead.high
    assert lead.amount == pytest.approx(wanted, rel=0.2)


def test_a_key_without_leads_is_itself_heavier(action_without_leads):
    said = {one.fault.name: one.said() for one in hypotheses(action_without_leads)}
    assert said["front-heavy"].startswith("the key itself is heavier")
    assert said["front-light"].startswith("the key itself is lighter")


@pytest.fixture
def action_without_leads():
    case = ka.read_case("cases/kinds/hung-beam.toml")
    return check_trains(case, [50])[50]
