"""Truth 7, first half: independent solvers agree on one stroke."""

import numpy as np
import pytest
from motions import tightened
from scipy.integrate import solve_ivp
from spellings import figures

from keyaction.sim.motion import drives
from keyaction.sim.motion.integrate import integrate

DRIVE = drives.stroke(0.04, 0.03, 0.04, 1.15 * 0.0095, rest=0.02)
SEEN = ("q_key", "q_sq2", "q_roller-out", "q_pallet", "p_groove")
# 0.1 µm at an arm of 200 mm: a hundred-thousandth of the dip, far below what any touch or ear could tell.
CLOSE = np.array([5e-7, 5e-7, 5e-7, 5e-7, 0.05])


@pytest.fixture(scope="module")
def reference(make_model):
    model = make_model()
    return model, integrate(model.kernel(), model.parameters(), model.rest(), DRIVE, tightened(1e-4))


def columns(states, names):
    return states[:, [names.index(name) for name in SEEN]]


def apart(model, states, reference):
    names = model.kernel().states
    return np.max(np.abs(columns(states, names) - columns(reference.y, names)), axis=0)


def test_the_stroke_is_a_real_one(reference):
    # What is compared holds every event: lost motion, pluck, bottom felt, rebound, closing on the seat.
    model, motion = reference
    assert motion.status.method == "LSODA"
    assert motion["groove_pressure"].max() > 0.9 * figures(model.train)["p_box"].value
    assert motion["key_travel"].max() > 0.0098
    assert motion["seat_gap"][-1] < 0.0


def test_radau_agrees(reference):
    # Implicit Runge-Kutta with the program's own Jacobian against the multistep method.
    model, motion = reference
    other = integrate(
        model.kernel(),
        model.parameters(),
        model.rest(),
        DRIVE,
        tightened(1e-2),
        ladder=("Radau",),
    )
    assert other.status.method == "Radau"
    assert np.all(apart(model, other.y, motion) < CLOSE)


def test_an_explicit_method_on_the_bare_rates_agrees(reference):
    # SciPy's DOP853 on kernel.rates, without the program's integration around it.
    model, motion = reference
    kernel, p, tol = model.kernel(), model.parameters(), tightened(1e-4)
    y, rows = model.rest(), []
    for piece in DRIVE.pieces:
        d = DRIVE.vector(piece)
        times = motion.t[(motion.t >= piece.start - 1e-12) & (motion.t <= piece.end + 1e-12)]
        found = solve_ivp(
            lambda t, state, d=d: kernel.rates(t, state, p, d),
            (times[0], times[-1]),
            y,
            method="DOP853",
            t_eval=times,
            rtol=tol.relative,
            atol=tol.absolute(kernel.states),
            max_step=tol.max_step,
        )
        assert found.success
        y = found.y[:, -1]
        rows.append(found.y.T[1 if rows else 0 :])
    assert np.all(apart(model, np.vstack(rows), motion) < CLOSE)


def test_the_usual_tolerance_is_good_enough_for_touch(reference):
    # At the program's own tolerance a stroke is within 3 micrometres at 200 mm and 0.2 Pa of the exact one.
    model, motion = reference
    usual = integrate(model.kernel(), model.parameters(), model.rest(), DRIVE)
    error = apart(model, usual.y, motion)
    assert np.all(error[:4] * 0.2 < 3e-6)
    assert error[4] < 0.2
