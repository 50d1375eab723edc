"""Truths 3 and 6: what gives way, what is heavy and how far a pull has to travel."""

from math import sqrt

import numpy as np
import pytest
from demo_train import FRICTIONLESS, LIBRARY, demo
from motions import crossing, tightened, unseating, value_at
from spellings import figures as spelled

from keyaction.sim.motion import drives
from keyaction.sim.motion.drives import Drive, Piece
from keyaction.sim.motion.integrate import integrate

LOST_MOTION = 0.0003 * (50 / 50) * (50 / 50) * (230 / 150)
"""Play of the rod before the roller, as seen at the key front through two squares and the key."""


def figures(**overrides):
    return {name: item.value for name, item in spelled(demo(**overrides)).items()}


def softer(compliance):
    """Parameters that multiply the way of every part under the same load: rods, shaft, and the seat's felt."""
    p = figures(**FRICTIONLESS)
    linear = ("k_t1", "k_t2", "k_t3", "k_pd", "K_roller")
    return {name: p[name] / compliance for name in linear} | {
        "K_seat_pallet": p["K_seat_pallet"] / compliance**1.5,
        "x0_seat_pallet": p["x0_seat_pallet"] * compliance,
        "q_open_pallet": p["q_open_pallet"] * compliance,
    }


def pluck_point(model, speed=0.002, depth=0.006):
    motion = model.play(drives.press(speed, depth, 3000.0, release=False))
    assert motion.status.ok
    return value_at(motion, "key_travel", unseating(motion))


def test_a_stiff_train_plucks_where_its_lost_motion_ends(make_model):
    flexible = pluck_point(make_model(**FRICTIONLESS)) - LOST_MOTION
    assert flexible > 1.5e-3
    for compliance in (1e-1, 1e-2):
        extra = pluck_point(make_model(tune=softer(compliance), **FRICTIONLESS), speed=0.005) - LOST_MOTION
        # What is left is the stiffened parts' own way; the arms' sine adds less than 0.5 % of it.
        assert extra == pytest.approx(compliance * flexible, rel=5e-3)


def test_without_lost_motion_a_stiff_train_plucks_at_once(make_model):
    tight = make_model(tune=softer(1e-2) | {"slack_t3": 0.0}, **FRICTIONLESS)
    assert 0.0 < pluck_point(tight, speed=0.005) < 0.01 * LOST_MOTION + 0.02e-3


def test_twice_the_compliance_goes_twice_as_far(make_model):
    once = pluck_point(make_model(**FRICTIONLESS)) - LOST_MOTION
    for compliance in (0.5, 2.0):
        extra = pluck_point(make_model(tune=softer(compliance), **FRICTIONLESS)) - LOST_MOTION
        assert extra == pytest.approx(compliance * once, rel=5e-3)


def test_the_train_of_one_soft_rod(make_model):
    # By hand: a spring in the train of 1/k more adds T/k of way there, and (230/150) T/k at the key.
    p, softening = figures(**FRICTIONLESS), 1e-4
    model = make_model(**FRICTIONLESS)
    motion = model.play(drives.press(0.002, 0.006, 3000.0, release=False))
    pull = value_at(motion, "force_t2", unseating(motion))
    soft = make_model(tune={"k_t2": 1 / (1 / p["k_t2"] + softening)}, **FRICTIONLESS)
    extra = pluck_point(soft) - pluck_point(model)
    assert extra == pytest.approx(pull * softening * 230 / 150, rel=1e-2)


def speech(model, drive):
    """From the key passing 1 mm to the groove passing half the box pressure, s."""
    motion = model.play(drive, tightened(1e-1))
    start = crossing(motion, "key_travel", 1e-3)
    return crossing(motion, "groove_pressure", 0.5 * spelled(model.train)["p_box"].value, after=start) - start


STROKE = drives.stroke(0.04, 0.15, 0.04, 1.15 * 0.0095)
FORCE = drives.force(3.0, 0.01, 0.1, 0.02)


def test_a_longer_rod_speaks_later(make_model):
    lengths = np.array([1.8, 3.6, 6.0, 12.0])
    delays = np.array([speech(make_model(**{"t2.length": length}), STROKE) for length in lengths])
    per_metre = np.diff(delays) / np.diff(lengths)
    assert np.all(per_metre > 1e-4)
    # Mass and compliance both grow with the length: each further metre costs about the same.
    assert per_metre.max() < 1.15 * per_metre.min()


@pytest.mark.parametrize("what", ["mass", "compliance"])
def test_delay_grows_in_proportion_to_mass_and_compliance(make_model, what):
    # Under a given force, equal steps of mass alone, and of compliance alone, cost equal steps of time.
    p = figures()
    steps = [
        {"m_t2": p["m_t2"] * (1 + n)} if what == "mass" else {"k_t2": 1 / (1 / p["k_t2"] + n * 2e-5)} for n in range(4)
    ]
    times = []
    for tune in steps:
        model = make_model(tune=tune)
        motion = model.play(FORCE, tightened(1e-1))
        times.append(crossing(motion, "groove_pressure", 0.5 * p["p_box"]))
    costs = np.diff(times)
    assert np.all(costs > 1e-4)
    # The second difference stays a tenth of the first: the next order of a small change.
    assert np.all(np.abs(np.diff(costs)) < 0.1 * costs[0])


LENGTH = 18.0
TAUT = FRICTIONLESS | {
    "t2.length": LENGTH,
    "t2.end_mass": 0.0,
    "t3.lost_motion": 0.0,
    "t3.moves": "level",
    "pd.moves": "level",
}


def struck(make_model, pieces):
    """The near square is drawn by a sudden force on the key; ways of both ends of the long rod from then on."""
    redcedar = LIBRARY.get("western-redcedar")
    least = LENGTH / sqrt(1.10 * redcedar["E"].value / redcedar["density"].value)  # along the grain
    model = make_model(**TAUT, **{"t2.pieces": pieces})
    model.plain = True
    blow = Drive("force", (Piece(0.0, 2 * least, force=(50.0,)),), stiffness=0.0)
    motion = integrate(
        model.kernel(),
        model.parameters(),
        model.rest(),
        blow,
        tightened(1e-4, max_step=1e-5, grid=1e-5),
    )
    near = 0.05 * np.sin(motion["q_sq1"] - motion["q_sq1"][0])
    last = f"q_t2-{pieces}"
    far = motion[last] - motion[last][0] if pieces else 0.05 * np.sin(motion["q_sq2"] - motion["q_sq2"][0])
    return motion.t / least, near, far


@pytest.mark.long
def test_a_pull_takes_its_time_along_the_train(make_model):
    # A wave of sqrt(E/rho) needs 3.9 ms for 18 m. A row of masses lets a little through ahead of it (the front is
    # smeared over about pieces^(-2/3) of the way); it vanishes as the pieces grow in number.
    ahead = []
    for pieces in (5, 10, 20):
        time, near, far = struck(make_model, pieces)
        ahead.append(np.interp(0.85, time, np.abs(far) / np.maximum(near, 1e-9)))
    assert ahead[1] < 0.1 * ahead[0]
    assert ahead[2] < 0.1 * ahead[1]
    assert ahead[2] < 1e-5
    # It does arrive: a thousandth of the near end's way no sooner than the wave and not much later.
    arrival = time[np.argmax((near > 1e-5) & (far > 1e-3 * near))]
    assert 1.0 < arrival < 1.2


def test_a_massless_rod_would_not_wait(make_model):
    # The same blow with the mass lumped at the ends: the far square goes at once, which is why `pieces` exist.
    time, near, far = struck(make_model, 0)
    assert np.interp(0.85, time, far / np.maximum(near, 1e-9)) > 0.01
