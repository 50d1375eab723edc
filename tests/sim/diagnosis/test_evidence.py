"""Marginal likelihoods against closed forms, and that a fault is found where it was planted, by arithmetic alone."""

import math

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from keyaction.models.historic.works import WORKS
from keyaction.models.readings.figures import NAMES
from keyaction.sim.diagnosis.curves import CODE, UNKNOWN, Curve
from keyaction.sim.diagnosis.evenness import evenness
from keyaction.sim.diagnosis.evidence import Seen, Weighed
from keyaction.sim.diagnosis.faults import COMMON, FAULTS, FEW
from keyaction.sim.diagnosis.hypotheses import Hypothesis, weights
from keyaction.sim.diagnosis.neighbours import drifts
from keyaction.sim.diagnosis.posterior import believe
from keyaction.sim.measuring.knobs import KINDS, Knob

FIGURES = len(NAMES)
ERROR = np.full(FIGURES, 0.1)


def line(name, direction):
    """A fault whose figures rise in proportion."""
    fault = FAULTS[name]
    one = Hypothesis(fault, Knob(fault.kind, "part", lambda train, _: train))
    rise = np.zeros(FIGURES)
    rise[list(direction)] = list(direction.values())
    change = (one.amounts / one.usual)[:, None] * rise[None, :]
    return Curve(one, one.amounts, change, np.zeros(len(one.amounts), dtype=int))


def seen(left, heard=UNKNOWN):
    scatter = np.diag(ERROR**2) + 0.002 * np.ones((FIGURES, FIGURES))
    return Seen(np.asarray(left, dtype=float), scatter, ERROR, heard, 0)


LINES = (
    line("loose-nut", {2: 0.8, 3: 0.8, 4: -0.5}),
    line("weak-spring", dict.fromkeys(range(5, 11), 0.9)),
    line("wide-seal", {5: 0.8}),
)


def test_without_a_fault_it_is_the_normal_density():
    random = np.random.default_rng(1)
    left = random.normal(size=FIGURES) * 0.1
    left[4] = math.nan  # a hole in the sheet
    one = seen(left)
    there = np.isfinite(left)
    expected = multivariate_normal.logpdf(left[there], cov=one.scatter[np.ix_(there, there)])
    assert Weighed(one, LINES).evidence().none == pytest.approx(expected)


def test_faults_are_summed_over_amounts_alone_and_together():
    left = LINES[0].change[5] + LINES[2].change[7]
    one = seen(left)
    found = Weighed(one, LINES).evidence()
    a, b = LINES[0], LINES[2]

    normal = multivariate_normal(cov=one.scatter)

    def density(change):
        return math.exp(normal.logpdf(left - change) - found.none)

    pa, pb = np.exp(a.hypothesis.log_prior()), np.exp(b.hypothesis.log_prior())
    alone = sum(p * density(row) for p, row in zip(pa, a.change, strict=True))
    both = sum(
        p * q * density(x + y) for p, x in zip(pa, a.change, strict=True) for q, y in zip(pb, b.change, strict=True)
    )
    assert math.exp(found.one[0] - found.none) == pytest.approx(alone, rel=1e-6)
    assert math.exp(found.two[0, 2] - found.none) == pytest.approx(both, rel=1e-6)
    assert found.two[0, 2] > max(found.one)  # two were planted
    assert np.isneginf(found.two[0, 0])


def test_a_cipher_that_was_heard_speaks_against_what_would_not_cipher():
    curve = LINES[2]
    ciphering = Curve(curve.hypothesis, curve.amounts, curve.change, np.full(len(curve.amounts), CODE["ciphers"]))
    heard = seen(curve.change[8], CODE["ciphers"])
    found = Weighed(heard, [curve, ciphering]).evidence()
    assert found.one[1] - found.one[0] == pytest.approx(math.log(0.75 / 0.007))


def test_a_figure_that_is_read_where_none_should_be_costs():
    curve = LINES[2]
    change = curve.change.copy()
    change[:, 3] = math.nan
    without = Curve(curve.hypothesis, curve.amounts, change, curve.speech)
    found = Weighed(seen(curve.change[8]), [curve, without]).evidence()
    assert found.one[1] < found.one[0] - 5.0


@pytest.mark.parametrize(("place", "amount"), [(0, 7), (1, 8), (2, 9)])
def test_what_was_planted_is_believed(place, amount):
    random = np.random.default_rng(place)
    left = LINES[place].change[amount] + random.normal(size=FIGURES) * 0.1
    belief = believe(Weighed(seen(left), LINES).evidence(), 0.05, weights([one.hypothesis for one in LINES]))
    assert int(np.argmax(belief.faults)) == place
    assert belief.faults[place] > 0.9


def test_one_figure_far_off_is_misread_and_no_fault():
    left = np.zeros(FIGURES)
    left[1] = 1.5
    belief = believe(Weighed(seen(left), LINES).evidence(), 0.05, weights([one.hypothesis for one in LINES]))
    assert belief.misread[1] > 0.9
    assert belief.faulty < 0.1


def test_evenness_is_what_the_sheet_scatters_by():
    random = np.random.default_rng(3)
    good, faulty = np.diag(np.full(FIGURES, 0.04)), np.diag(np.full(FIGURES, 4.0))
    for factor in (0.1, 1.0, 3.0):
        rows = random.normal(size=(40, FIGURES)) * math.sqrt(0.01 + factor * 0.04)
        notes = [Seen(row, np.diag(ERROR**2) + good, ERROR, UNKNOWN, 0) for row in rows]
        found = evenness(notes, [good] * 40, [faulty] * 40)
        assert found == pytest.approx(factor, rel=0.35)


def test_neighbours_that_lie_off_alike_are_no_faults_and_single_ones_stay():
    random = np.random.default_rng(4)
    rows = random.normal(size=(30, FIGURES)) * 0.1
    assert drifts(range(30), [seen(row) for row in rows])[0] == []
    rows[:, 3] += 0.4
    rows[20, 3] += 2.0
    found, after = drifts(range(30), [seen(row) for row in rows])
    assert [one.figure for one in found] == ["point"]
    assert after[20].left[3] == pytest.approx(2.0, abs=0.35)
    assert np.median([one.left[3] for one in after]) == pytest.approx(0.0, abs=0.06)


def test_every_fault_has_a_knob_a_remedy_and_words():
    for fault in (*FAULTS.values(), *FEW, *COMMON):
        assert fault.kind in KINDS or fault.cause == "straightedge"
        assert fault.remedy in WORKS
        assert fault.said
        assert fault.symptom
        assert fault.look
        assert fault.weight > 0.0
        assert fault.source == "common practice"
