"""Levers on a rail: still they are as any; moved they draw their rods tighter, and say how hard they hold."""

import numpy as np
import pytest
from rails import behind, run_of

from keyaction.cases.action.trains import train_of
from keyaction.models.algebra.names import Name
from keyaction.models.frame.changes import RunRod, shift_of
from keyaction.models.frame.rail import Rail
from keyaction.models.parts.rail_levers import HOLD, PLACE, SPEED, RailSquare
from keyaction.models.train.on_rail import on_rail
from keyaction.models.train.train import build_train
from keyaction.sim.floating.places import holds_of, seated
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.motion.drives import HANDS_OFF
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.statics.press import press

LEVER = "floor-square"
SLANTING = RunRod("level-tracker", LEVER, "back-square", (0.0, -0.8, -0.6), 1.7, None, 1e-3, pushes=False)


@pytest.fixture(scope="module")
def train():
    return train_of(behind(), "C4")


@pytest.fixture(scope="module")
def holds():
    riser = run_of("C4")[0]
    return holds_of((riser, SLANTING), Rail((LEVER,), "down", 1.0, 1.0))


@pytest.fixture(scope="module")
def model(train, holds):
    return NoteModel(seated(train, holds))


def moved(model, place=0.0, speed=0.0):
    """The rail a little away, or moving."""
    kernel, p = model.kernel(), model.parameters()
    p[kernel.parameters.index(Name(LEVER, PLACE))] = place
    p[kernel.parameters.index(Name(LEVER, SPEED))] = speed
    return p


def state(model, other, size=2e-3):
    """A state in which everything moves, of both models."""
    named = dict(zip(other.kernel().states, size * np.random.default_rng(1).standard_normal(99), strict=False))
    return np.array([named.get(name, 0.0) for name in model.kernel().states])


def off(model):
    return model.vector(HANDS_OFF, HANDS_OFF.pieces[0])


def seen(model, y, p):
    kernel = model.kernel()
    return dict(zip(kernel.observables, kernel.observe(np.zeros(1), y[None, :], p, off(model))[0], strict=True))


def test_on_a_rail_that_stands_still_nothing_changes(train, model):
    plain = NoteModel(train)
    y, other = state(model, plain), state(plain, plain)
    rates = dict(zip(model.kernel().states, model.kernel().rates(0.0, y, moved(model), off(model)), strict=True))
    own = dict(
        zip(plain.kernel().states, plain.kernel().rates(0.0, other, plain.parameters(), off(plain)), strict=True)
    )
    assert {name: rates[name] for name in own} == pytest.approx(own, rel=1e-12)
    assert set(rates) - set(own) == {"hold_floor_square", "work_rail"}
    assert rates["work_rail"] == 0.0
    assert model.kernel().kinds.count("impulse") == 1


def test_rods_stretch_as_the_frame_says(model, holds):
    y, by = model.rest(), 0.4e-3
    before, after = seen(model, y, moved(model)), seen(model, y, moved(model, by))
    riser = run_of("C4")[0]
    near, far = shift_of((0.0, 0.0, -by), riser, SLANTING)
    assert (near, far) == (pytest.approx(by), pytest.approx(-0.6 * by))
    assert after["stretch_riser"] - before["stretch_riser"] == pytest.approx(near, rel=1e-9)
    assert after["stretch_level-tracker"] - before["stretch_level-tracker"] == pytest.approx(far, rel=1e-9)
    assert [hold.tighter for hold in holds] == pytest.approx([1.0, -0.6])


def test_a_sticker_that_comes_nearer_is_drawn_tighter():
    up = RunRod("sticker", "key", LEVER, (0.0, 0.0, 1.0), 1.0, None, 5e-3, pushes=True)
    (hold,) = holds_of((up,), Rail((LEVER,), "down", 1.0, 1.0))
    assert (hold.tighter, hold.share) == (1.0, -1.0)


def test_the_hold_is_the_force_by_virtual_work_and_the_account_its_power(model, holds):
    y, p = state(model, model), moved(model, 0.5e-3, 0.02)
    rates = model.kernel().rates(0.0, y, p, off(model))
    found = seen(model, y, p)
    by_hand = sum(hold.tighter * found[f"force_{hold.rod}"] for hold in holds)
    assert by_hand > 1.0
    hold, work = model.kernel().owners.index((LEVER, HOLD)), dict(model.kernel().accounts)["rail"]
    assert rates[hold] == pytest.approx(by_hand, rel=1e-12)
    assert rates[work] == pytest.approx(by_hand * 0.02, rel=1e-12)


def test_the_impulse_moves_nothing_and_is_nothing_at_rest(model):
    y, p = state(model, model), moved(model)
    i = model.kernel().of_kind("impulse")[0]
    pushed = y.copy()
    pushed[i] = 5.0
    assert np.array_equal(model.kernel().rates(0.0, y, p, off(model)), model.kernel().rates(0.0, pushed, p, off(model)))
    assert model.rest()[i] == 0.0


def test_the_rail_draws_the_resting_key_as_a_tighter_rod_does(train, model):
    by = 2e-3
    tighter = train.with_parameter(Name("riser", "slack"), train.value("riser", "slack") - by, "test")
    looser = Name("level-tracker", "slack")
    tighter = tighter.with_parameter(looser, train.value(*(looser.part, looser.what)) + 0.6 * by, "test")
    there = model.train.with_parameter(Name(LEVER, PLACE), by, "test")
    one, other = NoteModel(there), NoteModel(tighter)
    ways = [dict(zip(m.kernel().states, m.rest(), strict=True)) for m in (one, other)]
    for body in ("q_key", "q_floor-square", "q_pallet"):
        assert ways[0][body] == pytest.approx(ways[1][body], rel=1e-6, abs=1e-9)
    assert abs(ways[0]["q_key"] - model.rest()[0]) > 1e-5


def test_what_cannot_sit_on_a_rail_is_told(train):
    with pytest.raises(ValueError, match="no part nothing in this train"):
        on_rail(train, {"nothing": (1.0, 0.0)})
    with pytest.raises(ValueError, match="roller is a roller; a rail carries square and backfall"):
        on_rail(train, {"roller": (1.0, 0.0)})


def test_a_train_is_built_with_one_as_with_any_part(train):
    parts = [
        (RailSquare if part.name == LEVER else part.part, part.name, part.values.given, member.after)
        for part, member in zip(train.parts, train.structure, strict=True)
    ]
    built = build_train(parts, behind().library)
    assert built.value(LEVER, PLACE) == built.value(LEVER, SPEED) == 0.0
    assert built.structure == on_rail(train, {LEVER: (1.0, 0.0)}).structure


def test_lanes_bring_it_to_the_same_rest(model):
    there = model.train.with_parameter(Name(LEVER, PLACE), 1e-3, "test")
    found, own = Batch.of([model.train, there], jobs=1).rest(), NoteModel(there)
    assert found.settled.all()
    shown = seen(own, own.rest(), own.parameters())
    for name in ("key_travel", "force_riser", "seat_gap"):
        i = own.kernel().observables.index(name)
        assert found.seen[1, i] == pytest.approx(shown[name], rel=1e-3, abs=1e-7)
    assert abs(found.seen[1, i] - found.seen[0, i]) > 1e-6


def test_the_slow_press_of_a_lever_on_a_rail_that_stands_still_is_its_own(train, model):
    one, other = (press(NoteModel(which)) for which in (train, model.train))
    assert (other.pluck_force, other.pluck_point) == pytest.approx((one.pluck_force, one.pluck_point), rel=1e-5)
