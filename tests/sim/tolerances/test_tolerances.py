"""Sensitivities against closed forms and the budget; steps, worth, room and stagger against normal distributions."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtr
from short_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.study.spreads import pieces_of, uncertain
from keyaction.models.train.train import build_train
from keyaction.sim.spread.budget import budget
from keyaction.sim.sweep.designs import recipe
from keyaction.sim.tolerances.figures import BY_NAME, FIGURES
from keyaction.sim.tolerances.full import full_draws
from keyaction.sim.tolerances.sensitivity import sensitivities
from keyaction.sim.tolerances.sheets import effects_sheet, notes_sheet, steps_sheet, worth_sheet
from keyaction.sim.tolerances.stagger import kept, pluck_points
from keyaction.sim.tolerances.steps import Lineal, Scatter, draw_steps, share_beyond
from keyaction.sim.tolerances.told import answers, in_full
from keyaction.sim.tolerances.tolerances import Asked, tolerances
from keyaction.sim.tolerances.worth import room, worths


def sized(one, common=1.0, own=1.0):
    """A tolerance with its parts times these."""
    pieces = tuple(
        piece._replace(deviation=replace(piece.deviation, size=own * piece.deviation.size)) for piece in one.pieces
    )
    return replace(one, common=replace(one.common, size=common * one.common.size), pieces=pieces)


@pytest.fixture(scope="module")
def doubts(smooth):
    return uncertain(smooth, smooth.compass)


@pytest.fixture(scope="module")
def found(smooth, doubts):
    return sensitivities(smooth, [60, 61, 62], jobs=1, doubts=doubts)


def total(part, other):
    return np.sqrt(np.sum(part**2 + other**2, axis=1))


def test_few_presses_tell_what_each_tolerance_moved_alone_does(smooth, doubts, found):
    made = recipe(smooth, (60,), (), ("pluck_force",), pieces_of(doubts))
    wanted = budget(made, doubts)
    _, common, own = found.of("pluck")
    whole = total(common, own)[0]
    for k, one in enumerate(wanted):
        assert common[0, k] == pytest.approx(one.common, rel=0.02, abs=1e-3 * whole), one.name
        assert own[0, k] == pytest.approx(abs(one.own), rel=0.02, abs=1e-3 * whole), one.name
    assert found.presses < 3 * 2 * len(doubts)


def test_the_spring_by_hand(smooth, doubts, found):
    train = build_train(smooth.given(60), smooth.library)
    key, pallet, spring = (train.role(one).values for one in ("key", "pallet", "spring"))
    lever = key.number("arm") / key.number("front") / pallet.number("eye")
    moment = spring.number("force") * spring.number("at")
    k = [one.name for one in doubts].index("pallet-spring.force")
    for figure in ("pluck", "follow"):  # without a rate the spring adds the same all the way
        _, common, own = found.of(figure)
        assert common[0, k] == pytest.approx(0.03 * moment * lever, rel=5e-3)
        assert own[0, k] == pytest.approx(0.05 * moment * lever, rel=5e-3)


def test_half_of_all_tolerances_is_half_of_all_scatter(smooth, doubts, found):
    halved = sensitivities(smooth, [60], jobs=1, doubts=[sized(one, 0.5, 0.5) for one in doubts])
    for figure in ("pluck", "point", "hold", "dip", "lift"):
        _, *whole = found.of(figure)
        _, *half = halved.of(figure)
        assert total(*half)[0] == pytest.approx(total(*whole)[0] / 2, rel=0.03), figure


def test_what_all_notes_share_makes_no_step_where_they_are_alike(doubts, found):
    names = [one.name for one in doubts]
    k = names.index("key.front")  # multiplies the forces of all notes alike
    line = Lineal.of(found, "pluck")
    shared = replace(line, own=np.zeros_like(line.own), common=np.where(np.arange(len(names)) == k, line.common, 0.0))
    wanted = -line.values * 0.3 / np.sqrt(3) / 400  # force times 400 mm is what the pallet asks for
    assert shared.common[:, k] == pytest.approx(wanted, rel=0.01)
    assert np.sqrt(shared.variances.max()) < 1e-5
    assert draw_steps(shared, 2000).all.share == 0.0
    assert np.sqrt(line.variances.max()) > 0.02


def alike(notes=20, sd=0.1e-3, limit=0.3e-3):
    """Notes of one dip that scatter alike, by one tolerance."""
    own = np.full((notes, 1), sd)
    return Lineal(
        BY_NAME["dip"], np.arange(40, 40 + notes), np.full(notes, 9e-3), 0 * own, own, np.zeros((1, 2), dtype=bool),
        limit,
    )  # fmt: skip


def test_draws_of_like_notes_meet_the_folded_normal():
    line = alike()
    wanted = 2 * ndtr(-3 / np.sqrt(2))  # a step is as wide as two notes
    drawn = draw_steps(line, 100_000, 3).all
    assert line.beyond() == pytest.approx(np.full(19, wanted))
    assert drawn.share == pytest.approx(wanted, abs=4 * drawn.share_error)
    assert drawn.pairs == pytest.approx(line.beyond(), abs=5 * np.sqrt(wanted / 100_000))
    # Of two notes all is known: one step, none in as many as it is not.
    two = draw_steps(alike(2), 100_000, 3).all
    assert two.none == pytest.approx(1 - wanted, abs=4 * two.none_error)
    assert two.expected == pytest.approx(wanted, abs=4 * two.share_error)


def test_even_tolerances_never_go_beyond_their_ends():
    line = replace(alike(), even=np.ones((1, 2), dtype=bool), limit=2 * np.sqrt(3) * 0.1e-3 + 1e-9)
    assert draw_steps(line, 20_000).all.share == 0.0
    assert draw_steps(replace(line, even=~line.even), 20_000).all.share > 0.01


def test_how_wide_a_tolerance_may_be():
    line = alike()
    for allow in (0.01, 0.05, 0.3):
        one = room(line, 0, allow, 50_000)
        assert share_beyond(np.zeros(1), np.array([one.factor * np.sqrt(2) * 0.1e-3]), 0.3e-3) == pytest.approx(
            allow, abs=1e-4
        )
        assert one.drawn.share == pytest.approx(allow, abs=5 * one.drawn.share_error)
    assert room(alike(sd=1e-9), 0, 0.05).factor == np.inf
    steps = replace(line, values=9e-3 + 0.4e-3 * (np.arange(20) % 2))  # uneven as drawn
    assert np.isnan(room(steps, 0, 0.5).factor) and room(steps, 0, 0.5).without == 1.0


def test_a_stagger_by_hand():
    one = kept(0.4e-3, 0.2e-3)
    assert (one.order, one.half) == pytest.approx((ndtr(2.0), ndtr(1.0)))
    assert kept(one.needed, 0.2e-3).order == pytest.approx(0.95)
    assert kept(one.needed_half, 0.2e-3).half == pytest.approx(0.95)
    assert kept(0.4e-3, 0.0).half == 1.0


def test_the_spring_is_worth_most_and_halves_and_doubles_agree_with_draws(found):
    line = Lineal.of(found, "pluck")
    made = worths(found, line, 40_000)
    first = made.ranked[0]
    assert first.name == "pallet-spring.force" and first.part > 0.5
    usual = made.drawn.all
    assert first.halved < 0 < first.doubled
    assert first.halved_drawn.share - usual.share == pytest.approx(first.halved, abs=0.01)
    assert first.doubled_drawn.share - usual.share == pytest.approx(first.doubled, abs=0.01)
    assert sum(one.part for one in made.ranked) == pytest.approx(1.0)
    relaxed = {made.line.figure.name, *(found.doubts[k].name for k in made.relaxed)}
    assert "groove.length" in relaxed and "pallet-spring.force" not in relaxed and "key.dip" not in relaxed


def test_draws_that_happen_to_agree_are_not_sure():
    pattern = np.zeros((2, 55), dtype=bool)
    pattern[:, :3] = True
    two, many = Scatter.of(pattern), Scatter.of(np.tile(pattern, (10, 1)))
    line = Scatter.of(np.random.default_rng(1).random((20_000, 55)) < 0.06)
    assert two.share_error == many.share_error == 0.0
    assert two.bounded_error > 0.02
    assert "too few draws to compare" in in_full(two, line, 55)
    assert "%" not in in_full(two, line, 55)  # two draws make no shares
    assert many.bounded_error == pytest.approx(0.00693, rel=0.01)  # by hand: of 62 of 1104
    assert in_full(many, line, 55).endswith("0.8 standard errors.")


@pytest.mark.long
def test_full_draws_agree_with_the_straight_lines():
    case = read_case("demo-wood")
    notes, count = [60, 61], 24
    line = Lineal.of(sensitivities(case, notes, jobs=1), "pluck")
    drawn, full = draw_steps(line, 20_000).all, full_draws(case, notes, count, jobs=1)
    scatter = full.scatter(line)
    error = np.hypot(scatter.share_error, drawn.share_error)
    assert abs(scatter.share - drawn.share) <= 3 * max(error, np.sqrt(drawn.share * (1 - drawn.share) / count))
    forces = full.of("pluck")
    sds = total(line.common, line.own)
    # A standard deviation of so many draws is known to 1 / sqrt(2 (count - 1)) of it.
    assert np.std(forces, axis=0, ddof=1) == pytest.approx(sds, rel=3 / np.sqrt(2 * (count - 1)))
    assert np.mean(forces, axis=0) == pytest.approx(line.values, abs=float(3.5 * sds.max() / np.sqrt(count)))


# -- edges ------------------------------------------------------------------------------------------------
def told(made):
    return " ".join(answers(made, "trade"))


def test_one_note_has_no_steps(smooth):
    made = tolerances(smooth, [60], Asked(draws=1000), jobs=1)
    assert made.full is None and made.rooms == () and made.worths.ranked == ()
    assert "one note has no neighbour, so nothing is said of steps" in told(made)
    assert steps_sheet(made, "trade", "trade").rows == []
    assert worth_sheet(made).rows == []
    assert len(effects_sheet(made.found, ["pluck"], "trade", False).rows) == 12


def test_notes_that_are_no_neighbours_have_none_either(smooth):
    made = tolerances(smooth, [60, 62], Asked(draws=1000, full=0), jobs=1)
    assert "no two neighbours have the figure" in told(made)


def test_spreads_of_nothing(smooth, doubts):
    still = [sized(one, 0.0, 0.0) for one in doubts]
    made = tolerances(smooth, [60, 61], Asked(draws=1000), jobs=1, doubts=still)
    assert not np.any(np.nan_to_num(made.found.own)) and not np.any(np.nan_to_num(made.found.common))
    assert made.worths.share == 0.0 and made.worths.drawn.all.none == 1.0
    assert "No tolerance makes a step" in told(made)
    assert pluck_points(made.found, 0.4e-3)[0].built.order == 1.0


def test_a_case_says_its_own_spreads(tmp_path):
    path = write_case(tmp_path)
    path.write_text(path.read_text() + '\n[spreads]\n"pallet-spring.force" = { common = "0 %", note = "20 %" }\n')
    case = read_case(path)
    one = next(one for one in uncertain(case, [60]) if one.name == "pallet-spring.force")
    found = sensitivities(case, [60], jobs=1, doubts=[one])
    usual = sensitivities(case, [60], jobs=1, doubts=[sized(one, 1.0, 0.25)])
    assert found.of("pluck")[2][0, 0] == pytest.approx(4 * usual.of("pluck")[2][0, 0], rel=0.02)
    assert found.of("pluck")[1][0, 0] == 0.0


OPEN = '\n[notes."C#4".pallet-spring]\nforce = "0 N"\n\n[notes."C#4".box]\npressure = "0 mmH2O"\n'


def test_a_note_that_falls_open_says_why_and_leaves_the_others(tmp_path):
    case = read_case(write_case(tmp_path, more=OPEN))
    found = sensitivities(case, [60, 61, 62], jobs=1, doubts=uncertain(case, [60])[:4])
    line = Lineal.of(found, "pluck")
    assert line.drawn.size == 0 and np.isnan(line.values[1])  # a gap between its neighbours, not a step over it
    assert np.isfinite(line.values[[0, 2]]).all() and np.isfinite(line.common[[0, 2]]).all()
    assert not found.failed or set(found.failed) == {61}
    assert [one.note for one in pluck_points(found, 0.4e-3)] == [60, 62]


def test_without_wind_only_where_it_is_asked_for(smooth, doubts):
    some = [one for one in doubts if one.name in ("pallet-spring.force", "box.pressure")]
    off = sensitivities(smooth, [60], True, jobs=1, doubts=some)
    names = [one.name for one in some]
    spring, wind = names.index("pallet-spring.force"), names.index("box.pressure")
    _, common, _ = off.of("pluck-off")
    assert common[0, wind] == pytest.approx(0.0, abs=1e-6) and common[0, spring] == pytest.approx(
        off.of("pluck")[1][0, spring], rel=0.01
    )
    sheet = notes_sheet(off, "trade", "trade", False)
    assert len(sheet.rows) == 2 and len(sheet.columns) == 4 + 2 * len(FIGURES) + 1
