"""A coupled note in a general-purpose multibody engine: two keys with their pallets, a coupler between them, no wind.

Each key hangs on its pin with its pallet below its tail's cord; the coupler's felt is put in as an outer force between
the two keys, as all felts are.
"""

import numpy as np
import pytest
from coupled_trains import SHORT, pair
from demo_train import LOSSLESS
from motions import tightened
from multibody import G, body, cord, end, played, pressed, world
from spellings import figures as spelled

from keyaction.sim.motion import drives
from keyaction.sim.motion.note import NoteModel

mujoco = pytest.importorskip("mujoco")

JOINTS = ("key", "pallet", "high-key", "high-pallet")
STEP, LATER, END = 2e-5, 0.060, 0.070
DRIVE = drives.force(4.0, 0.030, END, 0.02)
TAKE, GIVE = 0.190, 0.170


def own(part):
    """Overrides of one part that take friction and damping away."""
    return {path.split(".", 1)[1]: value for path, value in LOSSLESS.items() if path.startswith(f"{part}.")}


def train(play):
    fields = {name: own(name) for name in SHORT} | {"box": {"pressure": "0 mmH2O"}}
    return pair(
        "hook", own=fields, other=fields, play=play, take_arm="190 mm", give_arm="170 mm", **{"felt.alpha": 0.0}
    )


def figures(model):
    return {name: item.value for name, item in spelled(model.train).items()}


def scene(p):
    """Two trains side by side, x along the keys, z upwards; the tail rises and draws the pallet's eye up by a cord."""
    bodies, cords = [], []
    for y, tail in ((0.0, ""), (0.5, "_high")):
        prefix = "high-" if tail else ""
        half = p[f"m{tail}_pd"] / 2
        spring = f'stiffness="{p[f"k{tail}_spring"]}" springref="{-p[f"M0{tail}_spring"] / p[f"k{tail}_spring"]}"'
        bodies += [
            body(f"{prefix}key", (0, y, 0), 1, p[f"J{tail}_key"], p[f"W{tail}_key"], p[f"B{tail}_key"],
                 end(f"{prefix}tail", (-0.150, 0), half)),
            # The wire moves down where it opens the pallet; here the eye is drawn up, so weights act the other way.
            body(f"{prefix}pallet", (-0.350, y, -0.25), -1, p[f"J{tail}_pallet"], children=end(
                f"{prefix}eye", (0.200, 0), half), spring=spring),
        ]  # fmt: skip
        cords.append(cord(f"{prefix}pd", f"{prefix}tail", f"{prefix}eye", 0.25, p[f"k{tail}_pd"]))
    return world(bodies, cords, STEP)


def outer(p, play):
    """Finger, felts, the coupler, and the weights that act the other way in this scene."""

    def apply(_, data):
        q = dict(zip(JOINTS, data.qpos, strict=True))
        torque = dict.fromkeys(JOINTS, 0.0)
        for prefix, tail in (("", ""), ("high-", "_high")):
            key, pallet = q[f"{prefix}key"], q[f"{prefix}pallet"]
            bottom = max(0.230 * np.sin(key) - p[f"dip{tail}_key"], 0.0) ** 1.5 * p[f"K_bottom{tail}_key"]
            rest = max(p[f"x0_rest{tail}_key"] - 0.230 * key, 0.0) ** 1.5 * p[f"K_rest{tail}_key"]
            arm = p[f"r_seat{tail}_pallet"]
            seat = max(p[f"x0_seat{tail}_pallet"] - arm * pallet, 0.0) ** 1.5 * p[f"K_seat{tail}_pallet"]
            # A wire whose halves help on both sides, and a pallet whose weight opens it: the scene lifts them instead.
            half = p[f"m{tail}_pd"] / 2 * G
            torque[f"{prefix}key"] += 0.230 * (rest - bottom * np.cos(key)) + 2 * half * 0.150 * np.cos(key)
            torque[f"{prefix}pallet"] += arm * seat + p[f"B{tail}_pallet"] * np.cos(pallet)
            torque[f"{prefix}pallet"] += 2 * half * 0.200 * np.cos(pallet)
        torque["key"] += 0.230 * pressed(data.time, DRIVE) * np.cos(q["key"])
        squeeze = max(TAKE * np.sin(q["key"]) - GIVE * np.sin(q["high-key"]) - play, 0.0)
        push = p["K_take_coupler_ii_i"] * squeeze**1.5
        torque["key"] -= push * TAKE * np.cos(q["key"])
        torque["high-key"] += push * GIVE * np.cos(q["high-key"])
        data.qfrc_passive[:] += [torque[name] for name in JOINTS]

    return apply


@pytest.mark.parametrize("play", [0.0, 1.5e-3])
def test_two_coupled_keys_move_the_same(play):
    model = NoteModel(train(f"{play * 1e3:g} mm"))
    p = figures(model)
    start = np.array([model.rest()[model.kernel().states.index(f"q_{name}")] for name in JOINTS])
    times, angles, at_rest = played(scene(p), outer(p, play), start, JOINTS, END, STEP)
    assert np.max(np.abs(at_rest)) < 0.02
    motion = model.play(DRIVE, tightened(1e-3))
    assert motion.status.ok
    # Both keys reach their felts at about 45 ms; until 60 ms bodies knock together several times.
    grid = np.arange(0, LATER, 1e-4)
    for i, name in enumerate(JOINTS):
        here, there = np.interp(grid, motion.t, motion[f"q_{name}"]), np.interp(grid, times, angles[:, i])
        assert np.ptp(here) > 0.02
        assert np.max(np.abs(here - there)) < 0.01 * np.ptp(here), name
