"""What is drawn: against closed forms, against first order, against nothing drawn, and against a study."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from small_study import write_study

from keyaction.cases.action.reader import read_case
from keyaction.cases.study.spans import Deviation
from keyaction.cases.study.spreads import pieces_of, uncertain
from keyaction.models.train.train import build_train
from keyaction.sim.figures.evenness import felt_steps, neighbour_steps
from keyaction.sim.figures.limits import FEW
from keyaction.sim.figures.play import press_note
from keyaction.sim.lanes.presses import DesignModel
from keyaction.sim.spread.bands import curves, quantile_errors, quantiles
from keyaction.sim.spread.budget import Part, budget, largest, pluck_of, together
from keyaction.sim.spread.drawing import Draws
from keyaction.sim.sweep.designs import make_design, recipe, recipe_of
from keyaction.sim.sweep.manifest import plan_of
from keyaction.sim.sweep.plans import Plan
from keyaction.sim.sweep.sweep import load_study

G = 9.80665
CLOSED = ("key.front", "key.arm", "pallet.eye", "pallet.sealing_margin", "pallet-spring.force", "box.pressure")
"""Inputs whose effect on the pluck force is worked out by hand below."""


def draws_of(case, notes, count, names=None, seed=1, change=lambda one: one):
    """Draws of some of a case's uncertain figures only."""
    doubts = tuple(change(one) for one in uncertain(case, notes) if names is None or one.name in names)
    inputs = tuple(one.input for one in doubts if one.common.size)
    made = recipe(case, tuple(notes), inputs, ("pluck_force",), pieces_of(doubts), seed)
    return Draws(doubts, made, Plan("tolerances", len(inputs), count, seed))


def by_hand(train):
    """Pluck force of rigid levers: wind, spring and weight about the hinge, over the eye, by the key's arms.

    F front = T arm - B with B the key's moment; T eye = S p + at P - B_pallet, less the pull-down's weight.
    """
    key, wire, pallet, spring, box = (train.role(one).values for one in ("key", "rod", "pallet", "spring", "box"))
    long, wide, d0, seal = (
        pallet.number(one) for one in ("opening_length", "opening_width", "hinge_to_opening", "sealing_margin")
    )
    near, far = max(d0 - seal, 0.0), d0 + long + seal
    wind = (wide + 2 * seal) * (far**2 - near**2) / 2 * box.number("pressure")
    closing = wind + spring.number("at") * spring.number("force") - pallet.derived["B"].value
    pull = closing / pallet.number("eye") - wire.derived["m"].value * G
    return (pull * key.number("arm") - key.derived["B"].value) / key.number("front")


def test_every_draw_plucks_where_the_closed_form_says(smooth):
    draws = draws_of(smooth, [60], 24, CLOSED)
    found, wanted = [], []
    for number in range(24):
        (train,) = draws.design(number).trains
        found.append(press_note(DesignModel(train), smooth.strokes).press.pluck_force)
        wanted.append(by_hand(train))
    # What is left: the pallet's turn until the seat lets go tilts arms and weights by some hundredths of a radian.
    assert np.array(found) == pytest.approx(np.array(wanted), rel=2e-3)
    assert np.std(found) == pytest.approx(np.std(wanted), rel=0.01)
    assert np.std(wanted) > 0.02 * np.mean(wanted)


@pytest.mark.long
def test_the_variance_is_the_sum_of_squared_sensitivities(smooth):
    # JCGM 100:2008 (GUM), 5.1.2, against JCGM 101:2008: in a model as straight as this one both agree.
    draws = draws_of(smooth, [60], 20_000, CLOSED)
    first_order = budget(draws.recipe, draws.doubts, by_hand)
    forces = np.array([by_hand(draws.design(number).trains[0]) for number in range(2000)])
    assert np.std(forces) == pytest.approx(together(first_order), rel=0.04)  # 2000 draws tell it to 1.6 %
    # One at a time and by the equilibria, the same shares to 1 %.
    pressed = budget(draws.recipe, draws.doubts)
    for one, other in zip(first_order, pressed, strict=True):
        assert other.common == pytest.approx(one.common, rel=0.01, abs=1e-4 * together(first_order)), one.name
        assert other.own == pytest.approx(one.own, rel=0.01, abs=1e-4 * together(first_order)), one.name


def test_sensitivities_by_hand(smooth):
    draws = draws_of(smooth, [60], 2, ("pallet-spring.force", "box.pressure"))
    (train,) = draws_of(smooth, [60], 1, ()).design(0).trains
    key, pallet, spring = (train.role(one).values for one in ("key", "pallet", "spring"))
    lever = key.number("arm") / key.number("front") / pallet.number("eye")
    parts = {one.name: one for one in budget(draws.recipe, draws.doubts, by_hand)}
    at, force = spring.number("at"), spring.number("force")
    assert parts["pallet-spring.force"].common == pytest.approx(0.03 * force * at * lever, rel=2e-3)
    assert parts["pallet-spring.force"].own == pytest.approx(0.05 * force * at * lever, rel=4e-3)
    wind = pallet.derived["S_wind"].value * 70 * G * lever
    assert parts["box.pressure"].common == pytest.approx(0.03 / np.sqrt(3) * wind, rel=1e-3)
    assert parts["box.pressure"].own == pytest.approx(0.007 / np.sqrt(3) * wind, rel=1e-3)


def test_a_sum_of_many_draws_to_one_per_cent():
    # The same law with the closed form alone, where 100 000 draws cost nothing: u of a sum of the parts.
    rng = np.random.default_rng(4)
    parts = [Deviation(0.03), Deviation(0.05), Deviation(0.04, even=True)]
    drawn = sum(np.sqrt(i + 1.0) * one.at(rng.random(100_000)) for i, one in enumerate(parts))
    wanted = np.sqrt(sum((i + 1) * one.sd**2 for i, one in enumerate(parts)))
    assert np.std(drawn) == pytest.approx(wanted, rel=0.01)


def still(one):
    return replace(
        one,
        common=replace(one.common, size=0.0),
        pieces=tuple(piece._replace(deviation=replace(piece.deviation, size=0.0)) for piece in one.pieces),
    )


def parameters(train):
    return {name: item.value for name, item in train.parameters.items()}


@pytest.mark.long
def test_without_spreads_every_draw_is_the_case(smooth):
    notes = list(smooth.compass)
    own, none = (draws_of(smooth, notes, 3, change=change) for change in (lambda one: one, still))
    usual = make_design(own.recipe, np.full(own.plan.inputs, np.nan), 0)
    assert none.plan.inputs == 0
    for number in range(3):
        for train, note in zip(none.design(number).trains, range(len(notes)), strict=True):
            case = draws_of(smooth, notes, 1, ()).design(0).trains[note]
            assert parameters(train) == pytest.approx(parameters(case), rel=1e-15)
    assert parameters(usual.trains[0]) != parameters(none.design(0).trains[0])


def common_only(one):
    return replace(one, pieces=())


def own_only(one):
    return replace(one, common=replace(one.common, size=0.0))


def test_what_all_notes_share_leaves_the_steps_between_them(smooth):
    notes = list(smooth.compass)
    draws = draws_of(smooth, notes, 12, ("key.front",), change=common_only)
    (usual,) = (draws_of(smooth, notes, 1, ()).design(0),)
    before = neighbour_steps(np.array(notes), np.array([by_hand(train) for train in usual.trains]))
    for number in range(12):
        forces = np.array([by_hand(train) for train in draws.design(number).trains])
        assert neighbour_steps(np.array(notes), forces)[1:] == pytest.approx(before[1:], rel=1e-9)
        assert forces[0] != by_hand(usual.trains[0])


def test_what_each_note_has_of_its_own_makes_steps_of_root_two_times_its_spread(smooth):
    notes = list(smooth.compass)
    draws = draws_of(smooth, notes, 300, ("pallet-spring.force",), change=own_only)
    springs = np.array([[train.role("spring").figure("force") for train in draws.design(n).trains] for n in range(300)])
    steps, known, felt = felt_steps(np.array(notes), springs)
    # 300 draws of 7 steps, of which neighbouring ones are bound together: to some 2 %.
    assert np.std(np.log(springs)) == pytest.approx(np.sqrt(np.log1p(0.05**2)), rel=0.04)
    assert np.std(steps[known]) == pytest.approx(np.sqrt(2) * 0.05, rel=0.06)
    # A normal step of that width is beyond 7 % in erfc(0.07 / 0.0707 / sqrt 2) = 32 % of all.
    assert felt.sum() / known.sum() == pytest.approx(0.322, abs=0.035)
    assert abs(np.corrcoef(springs[:, 0], springs[:, 1])[0, 1]) < 0.2


def test_draws_are_the_designs_of_a_study_of_tolerances(tmp_path):
    study = load_study(write_study(tmp_path, 'plan = "tolerances"\ndesigns = 3\nseed = 7', vary=""))
    case = read_case(tmp_path / "short.toml")
    draws = draws_of(case, list(study.notes), 3, seed=7)
    made, plan = recipe_of(study), plan_of(study)
    for number in range(3):
        design = make_design(made, plan.rows(number, number + 1)[0], number)
        for ours, theirs in zip(draws.design(number).trains, design.trains, strict=True):
            assert parameters(ours) == parameters(theirs)


def test_a_note_is_drawn_alike_alone_and_among_others(smooth):
    draws = draws_of(smooth, list(smooth.compass), 4)
    for number in (0, 3):
        (alone,) = draws.at(62).design(number).trains
        assert parameters(alone) == parameters(draws.design(number).trains[2])


def test_another_seed_and_another_number_are_other_draws(smooth):
    one, other = (draws_of(smooth, [60], 2, seed=seed) for seed in (1, 2))
    found = [parameters(draws.design(number).trains[0]) for draws in (one, other) for number in (0, 1)]
    for name in ("M0", "J"):
        values = [next(v for key, v in each.items() if key.what == name) for each in found]
        assert len(set(values)) == 4


def test_all_draws_can_be_built_and_stay_in_their_ranges(smooth):
    draws = draws_of(smooth, list(smooth.compass), 40)
    for number in range(40):
        for train in draws.design(number).trains:
            assert not isinstance(train, str), train
            seal = train.role("pallet").values.number("sealing_margin")
            assert 0.0 <= seal <= 3.3e-3


def test_the_largest_parts_are_named_with_their_shares():
    parts = [Part("a", 3.0, 0.0), Part("b", 0.0, 4.0), Part("c", 0.0, 0.0), Part("d", np.nan, 1.0)]
    assert [(one.name, share) for one, share in largest(parts, 3)] == [("b", 0.64), ("a", 0.36)]
    assert together(parts) == 5.0
    assert largest([Part("c", 0.0, 0.0)]) == []


def test_a_note_that_does_not_pluck_has_no_budget(smooth):
    draws = draws_of(smooth, [60], 2, ("box.pressure",))
    found = budget(draws.recipe, draws.doubts, lambda train: float("nan"))  # noqa: ARG005
    assert np.isnan(found[0].common)
    assert together(found) == 0.0
    assert pluck_of(draws.recipe)(draws.design(0).trains[0]) > 0.0


# -- how far off the edges may be ------------------------------------------------------------------------
def test_standard_errors_of_quantiles_are_those_of_many_batches():
    rng, shares = np.random.default_rng(7), np.array([0.05, 0.5, 0.95])
    batches = rng.normal(size=(400, 4000))
    scatter = np.quantile(batches, shares, axis=0).std(axis=1)
    told = quantile_errors(batches[:, :200], shares)
    assert told.mean(axis=1) == pytest.approx(scatter, rel=0.1)
    # The median of a normal distribution has sqrt(pi / 2 n), in the limit.
    assert told[1].mean() == pytest.approx(np.sqrt(np.pi / 800), rel=0.06)


def test_no_error_where_there_is_no_quantile():
    few = np.array([[1.0, np.nan], [np.nan, np.nan], [np.nan, 2.0]])
    assert np.all(np.isnan(quantile_errors(few, np.array([0.5]))))
    assert quantile_errors(np.full((9, 1), 3.0), np.array([0.05]))[0, 0] == pytest.approx(0.0, abs=1e-6)


def test_few_draws_are_those_whose_edge_may_lie_below_all_of_them():
    assert 0.95**FEW < 0.05 <= 0.95 ** (FEW - 1)


def test_bands_do_not_take_the_snap_of_one_draw_for_another(smooth):
    """At equal travels the upper edge rises again where a draw plucks late; pluck on pluck it does not."""
    draws = draws_of(smooth, [60], 12)
    own = press_note(DesignModel(build_train(draws.recipe.parts[0], draws.recipe.library)), smooth.strokes).press
    travel = np.linspace(0.0, own.down.travel.max(), 400)
    drawn = [press_note(DesignModel(draws.design(k).trains[0]), smooth.strokes).press for k in range(12)]
    past = (travel > own.pluck_point + 2e-4) & (travel < own.bottom_point - 2e-4)

    def rise(forces):
        (upper,) = quantiles(np.array(forces), np.array([0.95]))
        return np.max(np.diff(upper[past]))

    nothing = 1e-3  # N; what the spring behind the pallet may give in a step of travel
    assert rise([one.down.force_at(travel) for one in drawn]) > 10 * nothing
    assert rise(curves(draws, travel, 0, 12)[:, 0]) < nothing
