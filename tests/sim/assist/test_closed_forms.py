"""Two pallets by hand: levers, areas and springs, no train."""

import math

import pytest

from keyaction.cases.action.trains import check_trains
from keyaction.models.algebra.names import Name
from keyaction.sim.assist.own import Own, passed_at, pluck_over
from keyaction.sim.assist.peaks import peaks
from keyaction.sim.assist.versions import beam, doubled, two_pallets
from keyaction.sim.figures.doubled import first_alone
from keyaction.sim.figures.play import press_note
from keyaction.sim.figures.stages import stages
from keyaction.sim.motion.note import NoteModel

C4, RATIO = 60, 250 / 400
CLOSED = {"pallet__sealing_margin": "0 mm", "pallet__overlap": "0.01 mm"}


def own_of(case):
    train = check_trains(case, [C4])[C4]
    return Own(case.given(C4), case.library, case.strokes, train, press_note(NoteModel(train), case.strokes))


@pytest.fixture(scope="module")
def own(bass):
    return own_of(bass(**CLOSED))


@pytest.fixture(scope="module")
def alone(own):
    return first_alone(doubled(own, 0.0), own.strokes).press


def at_key(own, share):
    """By hand: half the pallet's force at the key, its groove holding a share of the wind (N)."""
    long, near, wide, eye, thick = 0.190, 0.012, 0.020, 0.165, 0.018
    wind = wide * ((near + long) ** 2 - near**2) / 2 * 110 * 9.80665 * (1 - share)
    weight = own.pallet.values.of("material", "density") * thick * wide * (near + long) ** 2 / 2 * 9.80665
    return (2.0 * 0.100 + wind - weight) / eye / 2 * RATIO


def test_two_halves_at_once_pluck_as_one_whole(own):
    """But for the second wire, whose weight helps."""
    one, two = own.pressed.press, press_note(NoteModel(doubled(own, 0.0)), own.strokes).press
    wire = own.train.part("pull-down").values.of("material", "density") * math.pi / 4 * 0.0015**2 * 0.250 * 9.80665
    assert two.pluck_force == pytest.approx(one.pluck_force - wire * RATIO, rel=3e-3)


def test_one_half_alone_plucks_by_half_the_pallet_less(own, alone):
    less = own.pressed.press.pluck_force - alone.pluck_force
    assert less == pytest.approx(at_key(own, 0.0), rel=0.03)


def test_apart_the_second_meets_the_first_ones_follow_through_and_what_wind_is_left(own, alone):
    press = press_note(NoteModel(two_pallets(own).train), own.strokes).press
    first, second = (press.leaves(one) for one in press.sounders)
    share = passed_at(alone, "groove_pressure", second) / own.train.box_pressure
    assert 0.3 < share < 1.0
    by_hand = float(alone.down.force_at(second)) + at_key(own, share)
    assert peaks(press, [first, second])[1] == pytest.approx(by_hand, rel=0.03)
    assert peaks(press, [first, second])[0] == pytest.approx(alone.pluck_force, rel=1e-3)


def test_the_second_plucks_once_the_first_pluck_is_over(own, alone):
    over = pluck_over(alone)
    press = press_note(NoteModel(two_pallets(own).train), own.strokes).press
    assert alone.pluck_point + 1e-3 <= over
    assert over - 5e-5 < press.leaves(press.sounders[1]) < press.bottom_point
    assert over <= (alone.pluck_point + alone.bottom_point) / 2 + 1e-9


def test_the_beam_plucks_by_its_near_arms(own):
    built = beam(own)
    near = press_note(NoteModel(built.train), own.strokes).press.pluck_force
    whole = own.pressed.press.pluck_force
    assert whole - near == pytest.approx((1 - 60 / 100) * 2 * at_key(own, 0.0), rel=0.03)


def test_the_beam_meets_its_second_fulcrum_where_the_pluck_is_over(own):
    train = beam(own).train
    met = {one.part: one.travel for one in stages(press_note(NoteModel(train), own.strokes))}
    far = train.with_parameter(Name("beam", "gap_second"), 0.03, "never met")
    assert met["beam"] == pytest.approx(pluck_over(press_note(NoteModel(far), own.strokes).press), abs=2e-5)


def test_nothing_is_over_where_nothing_plucks(bass):
    mute = own_of(bass(**CLOSED, **{"pull-down__lost_motion": "9 mm"}))
    assert math.isnan(pluck_over(mute.pressed.press))
