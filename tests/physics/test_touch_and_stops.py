"""Truths 4 and 5: what the player's speed changes, and what the drawn stops change."""

import numpy as np
import pytest
from demo_train import demo
from motions import crossing, tightened, unseating, value_at
from spellings import figures

from keyaction.sim.motion import drives

SLOW, FAST = 0.150, 0.040


def before_and_after(model, down):
    """Time from the key's first 0.1 mm to the unseating of the pallet; from there to a groove at 90 % (s)."""
    motion = model.play(drives.stroke(down, 0.15, 0.04, 1.15 * 0.0095), tightened(1e-1))
    pluck = unseating(motion)
    full = crossing(motion, "groove_pressure", 0.9 * figures(model.train)["p_box"].value, after=pluck)
    return pluck - crossing(motion, "key_travel", 1e-4), full - pluck


def spread(model):
    """How much longer, relative to the fast finger, the slow one takes: before the pluck and after it."""
    slow, fast = (np.array(before_and_after(model, down)) for down in (SLOW, FAST))
    return slow / fast - 1, slow - fast


def stiffened(share):
    """Parameters of a train that gives way to `share` of the demo's way."""
    p = {name: item.value for name, item in figures(demo()).items()}
    linear = ("k_t1", "k_t2", "k_t3", "k_pd", "K_roller")
    return {name: p[name] / share for name in linear} | {
        "K_seat_pallet": p["K_seat_pallet"] / share**1.5,
        "x0_seat_pallet": p["x0_seat_pallet"] * share,
        "q_open_pallet": p["q_open_pallet"] * share,
    }


def test_the_player_governs_what_comes_before_the_pluck(make_model):
    # A. G. Woolley, PhD thesis, Edinburgh 2006, abstract (read; qualitative): before the pluck the time varies very
    # widely with the touch, after it the pallet's motion is nearly the same. Here: less than half as much.
    relative, absolute = spread(make_model())
    assert relative[0] > 2.0
    assert relative[1] < 0.5 * relative[0]
    assert absolute[1] < 0.5 * absolute[0]


def test_it_is_the_giving_way_that_governs_the_rest(make_model):
    # The same abstract: the flexing action stores energy and releases it at the pluck. A train of stiff parts has
    # nothing to release, and its pallet follows the finger after the pluck as before it.
    flexible, _ = spread(make_model())
    stiff, _ = spread(make_model(tune=stiffened(0.02)))
    assert stiff[1] > stiff[0]
    assert stiff[1] > 1.5 * flexible[1]


def test_the_stored_energy_throws_the_pallet(make_model):
    # Under a slow press, just past the pluck, the pallet of the flexible train outruns the finger many times over.
    speed, ratio = 0.010, 0.200 / 0.060 * 0.060 / 0.150 * 0.150 / 0.230
    motion = make_model().play(drives.press(speed, 0.006, 3000.0, release=False), tightened(1e-1))
    pluck = unseating(motion)
    soon = (motion.t > pluck) & (motion.t < pluck + 0.1)
    assert np.max(motion["v_pallet"][soon]) * 0.200 > 2 * ratio * speed
    assert value_at(motion, "energy", pluck) - value_at(motion, "energy", 0.0) > 1e-3


def press(model):
    """Pluck force, force at opening and the way (m) of the key from there until the force has fallen to 1.5 N."""
    motion = model.play(drives.press(0.002, 0.0093, 3000.0, release=False), tightened(1e-1))
    pluck = unseating(motion)
    start = value_at(motion, "key_travel", pluck)
    near = (motion.t > pluck - 0.1) & (motion["key_travel"] < start + 0.5e-3)
    fallen = np.argmax((motion.t > pluck) & (motion["key_force"] < 1.5))
    assert fallen
    return float(motion["key_force"][near].max()), motion["key_travel"][fallen] - start


def test_stops_leave_the_pluck_and_slow_the_fall(make_model):
    areas = ("50 mm^2", "150 mm^2", "300 mm^2", "600 mm^2", "1200 mm^2")
    presses = [press(make_model(**{"groove.feet_area": area})) for area in areas]
    forces, falls = np.array([force for force, _ in presses]), np.array([fall for _, fall in presses])
    assert np.ptp(forces) < 0.01 * forces.min()
    assert np.all(np.diff(falls) > 0.1e-3)
    assert falls[-1] > 5 * falls[0]


@pytest.mark.parametrize("drawn", [2, 5])
def test_drawn_stops_add_up(make_model, drawn):
    # A list of stops of which some are drawn is the same as the sum of their toe openings.
    rows = {}
    for i in range(6):
        rows |= {f"groove.stops.{i}.name": f"stop {i}", f"groove.stops.{i}.area": f"{30 + 10 * i} mm^2"}
        rows[f"groove.stops.{i}.drawn"] = i < drawn
    total = sum(30 + 10 * i for i in range(drawn)) * 1e-6
    listed = make_model(**{"groove.feet_area": None}, **rows)
    summed = make_model(**{"groove.feet_area": total})
    assert np.allclose(listed.parameters(), summed.parameters(), rtol=1e-12)
