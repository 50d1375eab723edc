"""Coupled keys by hand: a finger feels what both trains ask for, each by its own lever, and nothing comes back."""

import math

import numpy as np
import pytest
from coupled_trains import KINDS, SHORT, alone, between, coupler, members, pair, three
from demo_train import DEMO, FRICTIONLESS, LIBRARY
from scipy.interpolate import PchipInterpolator

import keyaction as ka
from keyaction.cases.action.strokes import usual_strokes
from keyaction.models.algebra.names import Name
from keyaction.models.train.train import TrainProblem, build_train
from keyaction.sim.figures.budgets import compliance_budget
from keyaction.sim.figures.coupled import COUPLED
from keyaction.sim.figures.limits import EMPTY, FULL
from keyaction.sim.figures.play import press_note
from keyaction.sim.figures.quantities import effective_mass, mass_budget
from keyaction.sim.figures.sounding import OF_PALLETS
from keyaction.sim.figures.verdict import Fate, verdicts
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.motion import drives
from keyaction.sim.motion.changes import Change
from keyaction.sim.motion.integrate import audit_of
from keyaction.sim.motion.note import NoteModel

STROKES = usual_strokes()
FREE = {
    part: {path.split(".", 1)[1]: value for path, value in FRICTIONLESS.items() if path.startswith(f"{part}.")}
    for part in ("key", "pallet")
}
"""No pin rubs."""
SOFT_FINGER = drives.stroke(0.04, 0.15, 0.04, 0.0095 * 1.15)


def pressed(train):
    return press_note(NoteModel(train), STROKES)


def driven_way(note):
    """Way of the driven key's front along the way down, m."""
    body = note.press.down.balance.kernel.body("high-key")
    turn = note.press.down[body.way]
    return 0.230 * (np.sin(turn) - math.sin(float(turn[0])))


@pytest.mark.one_in(3)
@pytest.mark.parametrize("play", ["0 mm", "0.4 mm", "2 mm"])
@pytest.mark.parametrize(("take", "give"), [("200 mm", "200 mm"), ("150 mm", "200 mm"), ("200 mm", "160 mm")])
def test_the_finger_feels_both_each_by_its_lever(play, take, give):
    # Without friction, at every place of the way down: the key's own force, and the driven key's at its own place,
    # taken over by the two arms. Both are read from the key alone.
    own = pressed(alone(**FREE))
    both = pressed(pair("hook", own=FREE, other=FREE, play=play, take_arm=take, give_arm=give))
    down = both.press.down
    ratio = float(take.split()[0]) / float(give.split()[0])
    assert not own.press.down.snaps  # a stiff finger: one force at every place
    smooth = PchipInterpolator(own.press.down.travel, own.press.down.force)
    driven = driven_way(both)
    kept = (driven > 2e-4) & (driven < 8.5e-3) & (down.travel < 8.5e-3)
    assert np.count_nonzero(kept) > 20
    expected = smooth(down.travel[kept]) + ratio * smooth(driven[kept])
    assert down.force[kept] == pytest.approx(expected, rel=1.5e-3)


def test_rigid_and_without_play_both_open_together_with_twice_the_force():
    stiff = {
        **FREE,
        "key": {**FREE["key"], "rest_felt.squeeze": "0.002 mm", "rest_felt.force": "50 N"},
        "pd": {"stiffness": "1e6 N/mm", "mass": "3 g"},
        "pallet": {**FREE["pallet"], "seat.squeeze": "0.001 mm", "seat.force": "40 N"},
    }
    felt = {"felt.squeeze": "0.0002 mm", "felt.force": "50 N"}
    own, both = pressed(alone(**stiff)), pressed(pair("hook", own=stiff, other=stiff, play="0 mm", **felt))
    points = [both.press.leaves(one) for one in both.press.sounders]
    assert points[1] - points[0] < 4e-6
    assert both.press.pluck_force == pytest.approx(2 * own.press.pluck_force, rel=2e-3)


def test_plucks_apart_by_the_play_and_the_second_peak_stands_on_the_follow_through_of_the_first():
    # Play at arms of 200 mm is 2 mm x 230 / 200 at the front. The second peak: what the first key takes there, open,
    # and the whole pluck of the second.
    own = pressed(alone(**FREE))
    felt = {"felt.squeeze": "0.0002 mm", "felt.force": "50 N"}
    both = pressed(pair("hook", own=FREE, other=FREE, play="2 mm", **felt))
    first, second = (both.press.leaves(one) for one in both.press.sounders)
    assert second - first == pytest.approx(0.002 * 230 / 200, rel=0.01)
    peaks = [OF_PALLETS["pallet_pluck_force"].compute(both, one) for one in both.press.sounders]
    assert peaks[0] == pytest.approx(own.press.pluck_force, rel=1e-3)
    assert peaks[1] == pytest.approx(float(own.press.down.force_at(second)) + own.press.pluck_force, rel=5e-3)
    assert COUPLED["second_peak"].compute(both, own) == pytest.approx(min(peaks))
    assert COUPLED["plucks_apart"].compute(both, own) == pytest.approx(second - first)


def test_the_lift_lost_is_the_play_over_the_levers():
    # Held at the bottom by the same force, the driven key stands the play short: of 1.5 mm more at 200 mm its rod at
    # 150 mm loses 1.125 mm, and the pallet's eye as much. (Without play it stands on its own bottom felt.)
    lifts = {}
    for play in ("1.5 mm", "3 mm"):
        both = pressed(pair("hook", own=FREE, other=FREE, play=play))
        lifts[play] = OF_PALLETS["pallet_lift"].compute(both, both.press.sounders[1])
    assert lifts["1.5 mm"] - lifts["3 mm"] == pytest.approx(0.0015 * 150 / 200, rel=0.01)


@pytest.mark.one_in(2)
@pytest.mark.parametrize("kind", KINDS)
def test_what_is_driven_moves_nothing_upstream(kind):
    # Another hand presses the driven key to its bottom felt: the played one rests where it rested.
    free, held = NoteModel(pair(kind)).rest(), NoteModel(pair(kind, held=8.0)).rest()
    layout = NoteModel(pair(kind)).kernel()
    names = [body.part for body in layout.bodies]
    at = {name: names.index(name) for name in ("key", "pallet", "high-key")}
    assert held[at["high-key"]] * 0.230 > 0.009
    assert abs(held[at["key"]] - free[at["key"]]) * 0.230 < 1e-6
    assert abs(held[at["pallet"]] - free[at["pallet"]]) < 1e-6


@pytest.mark.parametrize("held", [0.0, 6.0])
@pytest.mark.parametrize("kind", KINDS)
def test_play_is_the_gap_at_rest(kind, held):
    # As a feeler finds it before anybody plays: whatever weights, felts and the lever's own moment do to the rest.
    model = NoteModel(pair(kind, held=held, play="0.7 mm"))
    assert model.train.value("coupler-ii-i", "x0_give") != 0.0
    free = NoteModel(pair(kind, play="0.7 mm"))
    rest, layout = free.rest(), free.kernel()
    drive = free.vector(drives.HANDS_OFF, drives.HANDS_OFF.pieces[0])
    seen = layout.observe(np.zeros(1), rest[None, :], free.parameters(), drive)[0]
    gap = seen[layout.observables.index(layout.element("coupler-ii-i", "give").stretch)]
    assert gap == pytest.approx(-0.7e-3, abs=1e-8)
    # Another hand does not change how the coupler was set, nor does another note's parameter set later.
    assert model.train.value("coupler-ii-i", "x0_give") == free.train.value("coupler-ii-i", "x0_give")
    softer = free.with_parameters(k_pd=3e4)
    assert softer.train.value("coupler-ii-i", "x0_give") == free.train.value("coupler-ii-i", "x0_give")


def test_a_hung_key_that_sinks_on_its_rods_takes_no_play_with_it():
    # The driven key hangs 0.42 mm lower than its sizes say, which is 0.26 mm where the coupler gives; with the
    # felt under the lever's moment 0.27 mm in all (found by an own sum of statics, to 0.02 mm).
    train = ka.coupled_train(ka.read_instrument("demo-instrument"), "behind", "C4", "II/I")
    assert NoteModel(train).train.value("coupler-ii-i", "x0_give") == pytest.approx(0.27e-3, abs=0.02e-3)


@pytest.mark.one_in(2)
@pytest.mark.parametrize("kind", KINDS)
def test_the_audit_closes_over_the_whole_tree(kind):
    motion = NoteModel(pair(kind)).play(SOFT_FINGER)
    assert motion.status.ok, motion.status
    assert abs(motion.audit.residual) < 1e-4 * motion.audit.throughput
    assert motion.audit.friction > 0.0


@pytest.mark.one_in(2)
@pytest.mark.parametrize("chain", [False, True])
def test_the_audit_closes_over_three(chain):
    motion = NoteModel(three(chain)).play(SOFT_FINGER)
    assert motion.status.ok and abs(motion.audit.residual) < 1e-4 * motion.audit.throughput
    assert min(np.max(motion[name]) for name in ("seat_gap", "seat_gap-high-pallet", "seat_gap-far-pallet")) > 4e-3


@pytest.mark.one_in(2)
@pytest.mark.parametrize("kind", ["lever", "sticker"])
def test_lanes_play_the_same_tree(kind):
    model = NoteModel(pair(kind))
    motion = model.play(SOFT_FINGER)
    batch = Batch(model.train.structure, np.array([model.parameters()]), 20e-6, jobs=1)
    rest = batch.rest()
    assert rest.settled.all()
    drive = batch._drives(
        1, down_rate=1 / 0.04, lift=0.19, up_rate=1 / 0.04, touch=batch._touch(rest), depth=0.0095 * 1.15,
        k_finger=STROKES.finger,
    )  # fmt: skip
    trace = batch.trace(drive, rest, motion.drive.end, every=1)
    audit = audit_of(batch.layout, trace.y[0], trace.seen[0])
    assert abs(audit.residual) < 1e-2 * audit.throughput
    for name in ("seat_gap", "seat_gap-high-pallet", "groove_least", "groove_most", "key_force"):
        ours = np.interp(motion.t, trace.t, trace.seen[0][:, batch.layout.observables.index(name)])
        # A blow between light parts may fall between two steps.
        assert np.quantile(np.abs(ours - motion[name]), 0.995) < 0.02 * np.max(np.abs(motion[name])), name


def test_what_tells_of_all_grooves_is_what_tells_of_each():
    motion = NoteModel(three(chain=True)).play(SOFT_FINGER)
    names = [one.pressure for one in pressed(three(chain=True)).press.sounders]
    each = np.array([motion[name] for name in names])
    assert motion["groove_least"] == pytest.approx(np.min(each, axis=0), abs=1e-9)  # of one and the same pressure
    assert motion["groove_most"] == pytest.approx(np.max(each, axis=0), abs=1e-9)
    gaps = np.array([motion[f"seat_gap{tail}"] for tail in ("", "-high-pallet", "-far-pallet")])
    assert motion["gap_most"] == pytest.approx(np.max(gaps, axis=0), abs=1e-12)


def test_a_second_train_without_wind_asks_for_nothing():
    still = {"box": {"pressure": "0 mmH2O"}}
    both = pressed(pair(other=still))
    assert [told.fate for told in verdicts(both)] == [Fate.SPEAKS, Fate.NO_WIND]
    motion = NoteModel(pair(other=still)).play(SOFT_FINGER)
    box = 75 * 9.80665
    full, empty = motion["groove_pressure"] >= FULL * box, motion["groove_pressure"] < EMPTY * box
    assert np.array_equal(motion["groove_least"] >= FULL * box, full) and np.any(full)
    assert np.array_equal(motion["groove_most"] < EMPTY * box, empty) and np.any(empty)
    own = pressed(alone())
    spring = 2.3 * 0.120 / 0.200 * 150 / 230
    added = both.press.follow_through_force - own.press.follow_through_force
    assert added == pytest.approx(spring, rel=0.35)  # with the key's own weight and friction


@pytest.mark.parametrize("released", ["played first", "held first"])
def test_a_key_held_by_the_other_hand_and_let_go_in_either_order(released):
    train = pair("lever", held=6.0)
    late = 0.30 if released == "played first" else 0.10
    hand = Change(Name("high-key", "f_held"), 0.0, late, late + 0.03)
    drive = drives.Drive(
        "motion",
        (*SOFT_FINGER.pieces, drives.Piece(SOFT_FINGER.end, 0.7)),
        SOFT_FINGER.stiffness,
        marks=SOFT_FINGER.marks,
        changes=(hand,),
    )
    motion = NoteModel(train).play(drive)
    assert motion.status.ok, motion.status
    assert abs(motion.audit.residual) < 1e-4 * motion.audit.throughput
    sounding = motion["groove_pressure-high-groove"] > 600.0
    own = motion["groove_pressure"] > 600.0
    assert sounding[0] and not own[0]
    # While the played key is down the coupler keeps the driven pallet open whatever the other hand does.
    down = (motion.t > 0.05) & (motion.t < 0.185)
    assert np.all(sounding[down]) and np.all(own[down])
    assert motion["gap_most"][-1] <= 0.0 and motion["groove_most"][-1] < 60.0
    ends = {name: float(motion.t[np.flatnonzero(one)[-1]]) for name, one in (("own", own), ("driven", sounding))}
    assert (ends["driven"] > ends["own"] + 0.05) == (released == "played first")


def test_a_key_held_down_costs_the_finger_its_own_train_alone():
    own, held = pressed(alone()), pressed(pair("hook", held=8.0))
    assert held.press.pluck_force == pytest.approx(own.press.pluck_force, rel=1e-6)
    assert [told.fate for told in verdicts(held)] == [Fate.SPEAKS, Fate.HELD]


def test_play_as_large_as_the_dip_couples_nothing():
    own, both = pressed(alone()), pressed(pair("hook", play="12 mm"))
    assert both.press.pluck_force == pytest.approx(own.press.pluck_force, rel=1e-9)
    assert math.isnan(COUPLED["coupler_play"].compute(both, own))
    assert verdicts(both)[1].fate is Fate.MUTE


def test_two_couplers_onto_one_key_push_it_once():
    # The one with less play drives; the other never comes to what it could drive.
    first = coupler("coupler-a", "hook", "key", "high-key", play="0.4 mm")
    second = coupler("coupler-b", "hook", "key", "high-key", play="3 mm")
    once = pressed(build_train([*members(), *members("high-"), first], LIBRARY))
    twice = pressed(build_train([*members(), *members("high-"), first, second], LIBRARY))
    assert twice.press.pluck_force == pytest.approx(once.press.pluck_force, rel=1e-6)
    assert np.max(twice.press.down["force_coupler-b-give"]) == 0.0


def test_effective_mass_and_ratio_of_the_whole():
    # Both keys and what hangs on them, nothing giving way: the same mass twice by arms alike, and by a ratio squared.
    own = pressed(alone())
    mass = COUPLED["added_mass"]
    alike = pressed(pair("hook", take_arm="200 mm", give_arm="200 mm"))
    slower = pressed(pair("hook", take_arm="150 mm", give_arm="200 mm"))
    whole = mass.compute(alike, own)
    assert whole == pytest.approx(effective_mass(own), rel=5e-3)
    assert mass.compute(slower, own) == pytest.approx(0.75**2 * whole, rel=5e-3)


def test_the_couplers_own_mass_by_hand():
    # A lever of J = 2e-5 kg m2, its arm of 80 mm moved at 190 mm of the key by a front at 230 mm.
    own, both = pressed(alone()), pressed(pair("lever"))
    by_hand = 2e-5 * (190 / 80 / 0.230) ** 2
    assert COUPLED["coupler_mass"].compute(both, own) == pytest.approx(by_hand, rel=1e-3)
    both = pressed(pair("sticker", mass="20 g"))
    assert COUPLED["coupler_mass"].compute(both, own) == pytest.approx(0.020 * (190 / 230) ** 2, rel=1e-3)


WHOLE = tuple(name for _, name, _ in DEMO)
PLACES = {
    "key to the board": (("key", "out"), ("high-roller", "in"), 200 / 230 / 150 * 230),
    "board to board": (("roller", "out"), ("high-roller", "in"), 1.0),
    "before the board": (("roller", "in"), ("high-sq2", "in"), 1.0),
    "square to key": (("sq1", "out"), ("high-key", "out"), None),
}
"""Where a coupler takes hold and where it gives; way of what it moves per way of the driven train's own rod there."""


@pytest.mark.one_in(2)
@pytest.mark.parametrize("place", PLACES)
def test_couplers_after_the_key_leave_the_driven_key_where_it_is(place):
    # What stands between the driven key and where the coupler gives goes slack; each key weighs on the finger alone.
    take, give, faster = PLACES[place]
    train = between(take, give, WHOLE, play="0.4 mm")
    note = pressed(train)
    assert [told.fate for told in verdicts(note)] == [Fate.SPEAKS, Fate.SPEAKS]
    masses = mass_budget(note)
    own = mass_budget(pressed(alone(WHOLE)))
    assert masses["high-pallet"] == pytest.approx((faster or 0.75) ** 2 * own["pallet"], rel=0.01)
    assert masses["pallet"] == pytest.approx(own["pallet"], rel=1e-3)
    moved = note.press.down["q_high-key"]
    assert (np.ptp(moved) * 0.230 < 2e-5) == (give[0] != "high-key")
    assert (masses["high-key"] > 0.01) == (give[0] == "high-key")
    # The way to the pluck of its own pallet is shared out among its own parts alone.
    budget = compliance_budget(note)
    assert not any(name.startswith(("high-", "coupler")) for name in budget)
    motion = NoteModel(train).play(SOFT_FINGER)
    assert motion.status.ok and abs(motion.audit.residual) < 1e-4 * motion.audit.throughput


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        (lambda: [*members(), *members("high-")], "the train has one key; this one has 2"),
        (
            lambda: [*members(), *members("high-"), coupler("c", "hook", "high-key", "key")],
            "high-key: no coupler moves it",
        ),
        (
            lambda: [
                *members(),
                *members("high-"),
                coupler("c", "hook", "key", "high-key"),
                coupler("d", "hook", "high-key", "key"),
            ],
            "the couplers c, d go round in a loop",
        ),
        (lambda: [*members(), coupler("c", "hook", "key", "nowhere")], "no key or lever 'nowhere' that it could move"),
        (
            lambda: [*members(), *members("high-"), (*coupler("c", "hook", "key", "high-key")[:4], ("high-key", "x"))],
            "c: high-key has no end 'x'; it has out",
        ),
        (
            lambda: [*members(names=SHORT[:1]), coupler("c", "hook", "key", "key"), *members(names=SHORT[1:])],
            "couplers stand last",
        ),
    ],
)
def test_what_cannot_be_coupled(parts, words):
    with pytest.raises(TrainProblem, match=words):
        build_train(parts(), LIBRARY)
