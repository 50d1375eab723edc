"""Truth 1: without losses energy is constant; with them, what finger and wind give is stored or lost."""

from dataclasses import replace

import numpy as np
import pytest
from demo_train import LOSSLESS
from motions import balance, hands_off, tightened
from scipy.integrate import trapezoid
from spellings import figures

from keyaction.models.train.equations import ACCOUNTS
from keyaction.sim.motion import drives
from keyaction.sim.motion.integrate import integrate

# No flow: the groove is a closed bottle of air behind the pallet.
SHUT = {"Cd_groove": 0.0, "A_out_groove": 0.0}


def whole_energy(model, motion):
    """Energy of the train, of the box that gives way at constant pressure, and of the air in the closed groove."""
    p = {name: item.value for name, item in figures(model.train).items()}
    box = p["p_box"] * p["S_wind_pallet"] * motion["q_pallet"]
    groove = p["V_groove"] * motion["p_groove"] ** 2 / (2 * 1.4 * p["p_atm"])
    return motion["energy"] + box + groove


def test_energy_is_constant_when_nothing_is_lost(make_model):
    # The pallet is let go in full motion: seat, felts, rods and shaft hand 20 mJ to and fro for 200 ms.
    model = make_model(tune=SHUT, **LOSSLESS)
    pressed = model.play(replace(drives.stroke(0.04, 0.05, 0.04, 0.0109), damping=0.0), tightened(1e-4))
    start = pressed.y[np.argmax(pressed["key_travel"] > 0.006)].copy()
    start[[model.kernel().states.index(f"work_{name}") for name in ACCOUNTS]] = 0.0
    motion = integrate(model.kernel(), model.parameters(), start, hands_off(0.2), tightened(1e-4))
    energy = whole_energy(model, motion)
    assert np.ptp(motion["energy"]) > 0.01
    assert np.ptp(energy) < 1e-6 * energy[0]


def test_an_opening_pallet_thins_the_air_of_a_closed_groove(make_model):
    # Adiabatic bottle: the pallet leaves S dq of room behind it, and the pressure falls by 1.4 p_atm S dq / V.
    model = make_model(tune=SHUT, **LOSSLESS)
    p = {name: item.value for name, item in figures(model.train).items()}
    motion = model.play(drives.stroke(0.04, 0.05, 0.04, 0.0109), tightened(1e-3))
    swept = p["S_wind_pallet"] * (motion["q_pallet"] - motion["q_pallet"][0])
    fall = motion["p_groove"] - motion["p_groove"][0]
    assert fall.min() < -100.0
    assert np.max(np.abs(fall + 1.4 * p["p_atm"] * swept / p["V_groove"])) < 1e-5 * abs(fall.min())


def test_the_finger_gives_what_is_stored_when_nothing_is_lost(make_model):
    model = make_model(tune=SHUT, **LOSSLESS)
    motion = model.play(replace(drives.stroke(0.04, 0.05, 0.04, 0.0109), damping=0.0), tightened(1e-4))
    energy = whole_energy(model, motion)
    assert np.max(motion["work_finger"]) > 0.01
    assert np.max(np.abs(energy - energy[0] - motion["work_finger"])) < 1e-6 * np.ptp(energy)
    assert np.all(motion["work_friction"] == 0.0)
    assert np.all(motion["work_damping"] == 0.0)


def test_energy_falls_when_only_losses_are_left(make_model):
    # Nothing but the train's own losses acts: the whole energy may only fall, apart from the integrator's error.
    model = make_model(tune=SHUT)
    pressed = model.play(drives.stroke(0.04, 0.05, 0.04, 0.0109))
    start = pressed.y[np.argmax(pressed["key_travel"] > 0.006)]
    motion = integrate(model.kernel(), model.parameters(), start, hands_off(0.2), tightened(1e-4))
    energy = whole_energy(model, motion)
    assert energy[-1] < 0.5 * energy[0]
    assert np.max(np.diff(energy)) < 1e-7 * energy[0]


@pytest.mark.parametrize(
    "drive",
    [
        drives.stroke(0.04, 0.15, 0.04, 0.0109),
        drives.press(0.01, 0.0105, 2e4),
        drives.force(4.0, 0.02, 0.1, 0.02),
        drives.repeated(6.0, 0.01, 3),
        drives.laid_mass(0.3),
    ],
    ids=["stroke", "slow press", "force", "repeated", "mass"],
)
def test_the_audit_closes_in_every_kind_of_drive(make_model, drive):
    # At the tolerances that the program uses, at every instant and not only at the end.
    motion = make_model().play(drive)
    assert motion.status.ok
    assert motion.audit.friction > 0.0
    assert motion.audit.damping > 0.0
    assert abs(motion.audit.residual) < 1e-4 * motion.audit.throughput
    assert np.max(np.abs(balance(motion))) < 1e-4 * motion.audit.throughput


def test_the_residual_shrinks_with_the_tolerance(make_model):
    # In proportion to the tolerance where the motion is smooth; contacts cost some of the order.
    model, drive = make_model(), drives.stroke(0.04, 0.15, 0.04, 0.0109)
    scales = 10.0 ** np.arange(1, -4, -1)
    motions = [model.play(drive, tightened(scale)) for scale in scales]
    residuals = [np.max(np.abs(balance(motion))) / motion.audit.throughput for motion in motions]
    order = np.polyfit(np.log(scales), np.log(residuals), 1)[0]
    assert order > 0.6
    assert residuals[-1] < 1e-2 * residuals[0] < 1e-5


def test_the_works_are_the_integrals_of_the_recorded_forces(make_model):
    # Oracle: trapezium rule over what a sensor would record, key force on the finger's way and pressure on the pallet.
    model = make_model()
    drive = drives.stroke(0.04, 0.15, 0.04, 0.0109)
    motion = model.play(drive, tightened(1e-2, grid=2e-5))
    finger = np.concatenate([[piece.way_at(t) for t in motion.t[_inside(motion.t, piece)]] for piece in drive.pieces])
    by_hand = trapezoid(motion["key_force"], finger)
    assert by_hand == pytest.approx(motion.audit.finger, rel=1e-4)
    p = {name: item.value for name, item in figures(model.train).items()}
    torque = -(p["p_box"] - motion["p_groove"]) * p["S_wind_pallet"]
    assert trapezoid(torque, motion["q_pallet"]) == pytest.approx(motion.audit.wind, rel=1e-4)


def _inside(t, piece):
    return (t > piece.start if piece.start else t >= 0.0) & (t <= piece.end)
