"""Truth 7, second half: a general-purpose multibody engine fed the same mechanism moves the same way.

The train stands in space: key, squares, roller and pallet are hinged bodies with their masses where they are, rods
are straight cords between points of them that pull and never push, the shaft is a spring between its two ends.
Wind and damping are off. The felts' power law is not the engine's own and is put in as an outer torque.
"""

import numpy as np
import pytest
from demo_train import LOSSLESS, demo_model
from motions import tightened
from multibody import G, body, cord, end, played, pressed, world
from spellings import figures as spelled

from keyaction.sim.motion import drives

mujoco = pytest.importorskip("mujoco")

JOINTS = ("key", "sq1", "sq2", "roller-in", "roller-out", "pallet")
STEP = 2e-5
RISE, FORCE, END = 0.030, 3.0, 0.080
CALM = {"box.pressure": "0 mmH2O"}


def figures(model):
    return {name: item.value for name, item in spelled(model.train).items()}


def scene(p, friction, far):
    """The demo train in space, x along the keys, z upwards; playing lowers the key's front, its tail rises.

    `far` draws all rods so many times as long, their stiffness and mass left as they are.
    """
    half = {rod: p[f"m_{rod}"] / 2 for rod in ("t1", "t2", "t3", "pd")}
    hold = {joint: friction.get(joint, 0.0) for joint in JOINTS}
    spring = f'stiffness="{p["k_spring"]}" springref="{-p["M0_spring"] / p["k_spring"]}"'
    down, x2 = -0.6 * far, -0.2 - 1.8 * far
    x3, up = x2 - 0.05, down + 1.2 * far
    bodies = [
        body("key", (0, 0, 0), 1, p["J_key"], p["W_key"], p["B_key"],
             end("tail", (-0.150, 0), half["t1"]), hold["key"]),
        body("sq1", (-0.200, 0, down), -1, p["J_sq1"], children=end("sq1a", (0.050, 0), half["t1"])
             + end("sq1b", (0, -0.050), half["t2"], carried=True), friction=hold["sq1"]),
        body("sq2", (x2, 0, down), -1, p["J_sq2"], children=end("sq2a", (0, -0.050), half["t2"], carried=True)
             + end("sq2b", (-0.050, 0), half["t3"]), friction=hold["sq2"]),
        body("roller-in", (x3 - 0.060, 0, up), 1, p["J_roller"] / 2,
             children=end("arm-in", (0.060, 0), half["t3"]), friction=hold["roller-in"]),
        body("roller-out", (x3 - 0.060, 0.6, up), 1, p["J_roller"] / 2,
             children=end("arm-out", (0.060, 0), half["pd"]), friction=hold["roller-out"]),
        body("pallet", (x3 - 0.200, 0.6, up + 0.25 * far), 1, p["J_pallet"], p["m_pallet"] * G, p["B_pallet"],
             end("eye", (0.200, 0), half["pd"]), hold["pallet"], spring),
    ]  # fmt: skip
    cords = [
        cord("t1", "tail", "sq1a", 0.6 * far, p["k_t1"]),
        cord("t2", "sq1b", "sq2a", 1.8 * far, p["k_t2"]),
        cord("t3", "sq2b", "arm-in", 1.2 * far + p["slack_t3"], p["k_t3"]),
        cord("pd", "arm-out", "eye", 0.25 * far, p["k_pd"]),
        f'<fixed name="shaft" stiffness="{p["K_roller"]}" springlength="0">'
        '<joint joint="roller-in" coef="1"/><joint joint="roller-out" coef="-1"/></fixed>',
    ]
    return world(bodies, cords, STEP)


def outer_torques(p, drive):
    """Finger and felts, as torques about the hinges of key and pallet."""

    def apply(_, data):
        key, pallet = data.qpos[0], data.qpos[5]
        bottom = max(0.230 * np.sin(key) - p["dip_key"], 0.0) ** 1.5 * p["K_bottom_key"]
        rest = max(p["x0_rest_key"] - 0.230 * key, 0.0) ** 1.5 * p["K_rest_key"]
        seat = max(p["x0_seat_pallet"] - p["r_seat_pallet"] * pallet, 0.0) ** 1.5 * p["K_seat_pallet"]
        data.qfrc_passive[0] += 0.230 * ((pressed(data.time, drive) - bottom) * np.cos(key) + rest)
        data.qfrc_passive[5] += p["r_seat_pallet"] * seat

    return apply


def engine(p, drive, start, friction=None, far=1.0, end_time=END):
    """Angles of the hinges at every step, in the order of `JOINTS`, from the angles `start`."""
    return played(scene(p, friction or {}, far), outer_torques(p, drive), start, JOINTS, end_time, STEP)


def ours(model, drive):
    motion = model.play(drive, tightened(1e-3))
    assert motion.status.ok
    return motion.t, np.array([motion[f"q_{joint}"] for joint in JOINTS]).T


def without_wind(tune=None, **overrides):
    return demo_model(tune={"S_wind_pallet": 0.0, **(tune or {})}, **(LOSSLESS | CALM | overrides))


DRIVE = drives.force(FORCE, RISE, END, 0.02)
BOTTOM, LATER = 0.040, 0.060
"""The key reaches the bottom felt at 38 ms; 20 ms later bodies have knocked together several times."""


def sampled(played):
    """Angles every 0.1 ms until `LATER`."""
    times, angles = played[:2]
    return np.array([np.interp(np.arange(0, LATER, 1e-4), times, column) for column in angles.T]).T


def apart(one, other, until):
    """Greatest difference of each hinge, relative to its range over the whole motion."""
    rows = slice(0, round(until / 1e-4))
    return np.max(np.abs(one[rows] - other[rows]), axis=0) / np.ptp(one, axis=0)


def test_the_same_place_of_rest():
    # At our place of rest the engine finds every load balanced: weights, spring, seat and rest felt, slack rods.
    model = without_wind()
    _, _, acceleration = engine(figures(model), DRIVE, model.rest()[:6], end_time=STEP)
    assert np.max(np.abs(acceleration)) < 0.02
    # Without its spring the pallet would fall at a thousand times that.
    _, _, loose = engine(figures(model) | {"M0_spring": 0.0}, DRIVE, model.rest()[:6], end_time=STEP)
    assert abs(loose[5]) > 100.0


def test_the_same_motion_without_friction():
    # Until the bottom the two differ by 0.04 % of a hinge's range: ours moves half a rod's mass along the rod only,
    # theirs carries it round with the arm's end (a share of 1 - cos^2 q), and their rods swing a little.
    model = without_wind()
    here, there = sampled(ours(model, DRIVE)), sampled(engine(figures(model), DRIVE, model.rest()[:6]))
    assert np.ptp(here[:, 0]) > 0.04
    assert np.ptp(here[:, 5]) > 0.06
    assert np.all(apart(here, there, BOTTOM) < 1e-3)
    assert np.all(apart(here, there, LATER) < 1e-2)


def test_the_difference_is_the_rods_own():
    # Rods of a hundredth of the mass, a hundred times as long: what the two disagree on goes, and with it the
    # disagreement. What is left is the steps of either solver.
    rods = ("t1", "t2", "t3", "pd")
    heavy = without_wind()
    light = without_wind({f"m_{rod}": figures(heavy)[f"m_{rod}"] / 100 for rod in rods})
    p = figures(light)
    here = sampled(ours(light, DRIVE))
    there = sampled(engine(p, DRIVE, light.rest()[:6], far=100.0))
    assert np.all(apart(here, there, BOTTOM) < 5e-5)
    assert np.all(apart(here, there, LATER) < 1e-3)


def test_the_same_motion_with_dry_friction():
    # Stiff bushings of given torque (the engine has no friction that follows a pin's load); ours close to Coulomb.
    torques = {"key": 0.02, "sq1": 2e-3, "sq2": 2e-3, "roller": 4e-3, "pallet": 5e-3}
    stiff = {f"{part}.pin.breakaway": torque for part, torque in torques.items()}
    model = without_wind({"phi_slip": 1e-6}, **stiff)
    hinges = {joint: torques[joint.split("-")[0]] for joint in JOINTS}
    here = sampled(ours(model, DRIVE))
    there = sampled(engine(figures(model), DRIVE, model.rest()[:6], hinges))
    assert np.all(apart(here, there, BOTTOM) < 1e-3)
    assert np.all(apart(here, there, LATER) < 1e-2)
    # The friction is worth twenty times that tolerance and more.
    free = sampled(ours(without_wind(), DRIVE))
    assert np.all(apart(here, free, BOTTOM) > 0.02)
