"""Notes and rail together: against one train that brings its rail along, a rail made fast, statics, and audits."""

from dataclasses import replace

import numpy as np
import pytest
from free_rail import as_one
from rails import behind, rail, regulated, run_of

from keyaction.cases.action.trains import train_of
from keyaction.sim.floating.compiled import loop_of
from keyaction.sim.floating.motion import OfRail, play_on_rail
from keyaction.sim.floating.nuts import NutsProblem, with_nuts_set
from keyaction.sim.floating.places import OnRail, holds_of, seated
from keyaction.sim.motion.drives import HANDS_OFF, press, stroke
from keyaction.sim.motion.integrate import Tolerances
from keyaction.sim.motion.note import NoteModel

LOAD = 1.2
TOL = Tolerances()


@pytest.fixture(scope="module")
def rods():
    return run_of("C4")


@pytest.fixture(scope="module")
def train():
    trains, _ = regulated(["C4"], rail(LOAD))
    return trains["C4"]


def struck(train):
    return stroke(0.03, 0.04, 0.03, 1.1 * train.dip, rest=0.06)


def on(train, rods, of, drive=None, name="C4", plain=None):
    holds = holds_of(rods, of)
    return OnRail(name, NoteModel(seated(train, holds), TOL, plain), holds, drive or struck(train))


@pytest.fixture(scope="module")
def floating(train, rods):
    of = rail(LOAD, mass=0.3, friction=0.2, rate=50.0, damping=0.5, behind=1e-3)
    return play_on_rail([on(train, rods, of)], of)


def slanting(rods):
    """The level tracker leads down at a slope, so that the rail moves the out arm's end as well."""
    return tuple(replace(one, along=(0.0, -0.8, -0.6)) if one.name == "level-tracker" else one for one in rods)


@pytest.mark.long
def test_a_single_train_that_brings_its_rail_along_moves_alike(train, rods):
    of = rail(0.3 * LOAD, mass=0.3, friction=0.1, rate=50.0, damping=0.5, behind=0.2e-3)
    fine, note = TOL.finer(100.0), on(train, slanting(rods), of)
    single = NoteModel(as_one(train, note.holds, of), fine)
    theirs = single.play(note.drive, fine)
    ours = play_on_rail([note], of, fine, _begun_as(theirs, OfRail([note], of, fine)))
    place, moved = theirs["q_floor-square-rail"], np.ptp(theirs["q_floor-square-rail"])
    assert ours.status.ok
    assert theirs.status.ok
    assert moved > 0.2e-3
    assert ours.place.min() < -of.behind
    assert np.max(np.abs(ours.place - place)) < 1e-5 * moved
    assert np.max(np.abs(ours.notes["C4"]["pallet_lift"] - theirs["pallet_lift"])) < 1e-5 * theirs["pallet_lift"].max()


def _begun_as(theirs, ours):
    """Our state at the place where the single train rests: to a micrometre where ours does."""
    known = dict(zip(theirs.kernel.states, theirs.y[0], strict=True))
    own, rest = [known.get(name, 0.0) for name in ours.kernels[0].states], ours.rest()
    start = np.array([*own, known["q_floor-square-rail"], *np.zeros(5)])
    moving = np.array(ours.places.kinds) == "coordinate"
    assert np.max(np.abs(start - rest)[moving]) < 0.1e-3
    assert abs(start - rest)[ours.places.at[-1]] < 3e-6
    return start


def test_without_what_rods_carry_to_and_fro_it_would_not(train, rods):
    of = rail(LOAD, mass=0.3)
    note = on(train, slanting(rods), of)
    whole = OfRail([note], of, TOL)
    start = whole.rest()
    start[whole.places.whole[6]] = 1.0
    out, less = np.zeros(whole.places.size), np.zeros(whole.places.size)
    for places, into in ((whole.places.body, out), ((*whole.places.body[:6], 0.0 * whole.places.body[6]), less)):
        run = loop_of(whole.kernels, whole.places.whole, places)
        run.together(
            run.fills,
            run.places,
            run.body,
            0.0,
            start,
            whole.places.parameters.copy(),
            np.zeros(len(whole.off())),
            into,
        )
    first = whole.places.at[-1]
    assert abs(out[first + 1] - less[first + 1]) > 1e-2 * abs(out[first + 1])


def test_compiled_and_plain_rates_are_alike(train, rods):
    of = rail(LOAD, mass=0.3, friction=0.2)
    found = []
    for plain in (False, True):
        whole = OfRail([on(train, rods, of, plain=plain)], of, TOL)
        y = 1e-3 * np.random.default_rng(3).standard_normal(whole.places.size)
        run, out = loop_of(whole.kernels, whole.places.whole, whole.places.body), np.zeros(whole.places.size)
        run.together(run.fills, run.places, run.body, 0.0, y, whole.places.parameters.copy(), whole.off(), out)
        found.append(out)
    assert np.allclose(found[0], found[1], rtol=1e-12, atol=1e-12)


def test_work_of_notes_and_rail_is_stored_or_lost(floating):
    audit = floating.audit
    assert floating.status.ok
    assert abs(audit.residual) < 1e-5 * audit.throughput
    assert min(audit.finger, audit.friction, audit.guides, audit.damped) > 10 * abs(audit.residual)
    assert abs(audit.load) > 10 * abs(audit.residual)
    own = floating.notes["C4"].audit
    assert abs(own.others) > 10 * abs(own.residual)
    assert abs(own.residual) < 1e-5 * own.throughput


def test_notes_and_rail_begin_at_rest(floating):
    assert floating.pull[0] == pytest.approx(LOAD - 50.0 * floating.place[0], rel=1e-4)
    assert abs(floating.place[0]) < 20e-6


@pytest.mark.parametrize("how", [{"fixed": True}, {"friction": 50.0}, {"mass": 1e6}])
def test_a_rail_that_cannot_move_leaves_each_note_its_own_motion(train, rods, how):
    of = rail(LOAD, **how)
    found = play_on_rail([on(train, rods, of)], of)
    alone = NoteModel(train, TOL.finer(10.0)).play(struck(train))
    lift, own = found.notes["C4"]["pallet_lift"], alone["pallet_lift"]
    assert np.ptp(found.place) < (15e-6 if "friction" in how else 1e-7)
    assert np.max(np.abs(lift - own)) < (0.02 if "friction" in how else 2e-4) * own.max()


def test_two_equal_notes_struck_alike_do_the_same(train, rods):
    of = rail(2 * LOAD, mass=0.3)
    found = play_on_rail([on(train, rods, of, name=name) for name in ("one", "other")], of)
    assert np.allclose(found.notes["one"].y, found.notes["other"].y, rtol=1e-7, atol=1e-9)
    assert np.ptp(found.place) > 1e-4


def test_a_rail_that_nobody_pulls_stays(train, rods):
    of = rail(LOAD, mass=0.3)
    found = play_on_rail([on(train, rods, of, HANDS_OFF)], of)
    assert np.ptp(found.place) < 1e-8
    assert found.pull == pytest.approx(LOAD, rel=1e-4)


def test_a_light_rail_pressed_slowly_is_in_balance_at_every_instant(train, rods):
    of = rail(LOAD, mass=0.01)
    drive = press(0.02, 0.006, 3000.0, hold=0.02, release=False, ease=0.05)
    found = play_on_rail([on(train, rods, of, drive)], of)
    calm = (found.t > 0.15) & (found.t < 0.3)  # s: before, the key trembles from being set going, then it is stopped
    assert np.ptp(found.place[calm]) > 1e-3
    assert found.pull[calm] == pytest.approx(LOAD, rel=0.005)


def test_nuts_hold_each_its_share(train, rods):
    of = rail(LOAD)
    note = on(train, rods, of)
    seen = note.model.kernel().observe(
        np.zeros(1),
        note.model.rest()[None, :],
        note.model.parameters(),
        note.model.vector(HANDS_OFF, HANDS_OFF.pieces[0]),
    )[0]
    assert seen[note.model.kernel().observables.index("force_riser")] == pytest.approx(LOAD, rel=2e-3)


def test_a_share_that_opens_the_pallet_is_refused(rods):
    of = rail(20.0)
    trains = {"C4": train_of(behind(), "C4")}
    with pytest.raises(NutsProblem, match="C4: the pallet opens"):
        with_nuts_set(trains, {"C4": holds_of(rods, of)}, of)


def test_a_rail_needs_notes_whose_drives_end_together(train, rods):
    of = rail(LOAD)
    with pytest.raises(ValueError, match="at least one note"):
        play_on_rail([], of)
    with pytest.raises(ValueError, match="end together"):
        play_on_rail([on(train, rods, of), on(train, rods, of, HANDS_OFF, "other")], of)
