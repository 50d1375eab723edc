"""The equations for other integrators: the same motion, the same derivatives, and safe against wrong states."""

from itertools import pairwise

import numpy as np
import pytest
from motions import tightened
from scipy.integrate import solve_ivp

from keyaction.models.algebra.names import Name
from keyaction.sim.motion import drives
from keyaction.sim.motion.right_hand_side import jacobian, right_hand_side

STROKE = drives.stroke(0.03, 0.05, 0.03, 0.011, rest=0.05)


@pytest.fixture(scope="module")
def f(short_model):
    return right_hand_side(short_model, STROKE)


def test_solve_ivp_finds_the_motion_that_play_finds(short_model, f):
    exact = tightened(1e-4)
    played = short_model.play(STROKE, exact)
    absolute = exact.absolute(f.kernel.states)
    y = f.start
    for begin, end in pairwise(f.breaks):
        found = solve_ivp(f, (begin, end), y, method="LSODA", rtol=exact.relative, atol=absolute, max_step=1e-3)
        assert found.success
        y = found.y[:, -1]
        meant = played.y[int(np.argmin(np.abs(played.t - end)))]
        largest = np.max(np.abs(played.y), axis=0)
        assert np.all(np.abs(y - meant) <= 1e-3 * largest), end


def test_an_implicit_integrator_takes_its_jacobian(f):
    settings = {"method": "Radau", "max_step": 2.5e-3, "rtol": 1e-6, "atol": 1e-9}
    with_it = solve_ivp(f, (0.0, 0.03), f.start, jac=f.jacobian, **settings)
    without = solve_ivp(f, (0.0, 0.03), f.start, **settings)
    assert with_it.success and with_it.nfev < without.nfev
    assert with_it.y[:2, -1] == pytest.approx(without.y[:2, -1], rel=1e-4)


def test_the_piece_at_a_time_acts(short_model, f):
    assert f.span == (0.0, pytest.approx(STROKE.end))
    kernel, p = short_model.kernel(), short_model.parameters()
    lowered = short_model.at_rest(STROKE)
    for piece, t in zip(lowered.pieces, f.breaks[:-1], strict=True):
        for time in (t, (piece.start + piece.end) / 2):
            assert np.array_equal(f(time, f.start), kernel.rates(time, f.start, p, lowered.vector(piece)))
    before = lowered.vector(lowered.pieces[0])
    assert np.array_equal(f(-0.1, f.start), kernel.rates(-0.1, f.start, p, before))


def test_what_is_recorded_is_what_play_records(short_model, f):
    played = short_model.play(STROKE)
    some = slice(0, None, 97)
    seen = f.observe(played.t[some], played.y[some])
    # At a knot of the drive play records with the piece that ends there, this with the one that begins.
    inside = ~np.isin(played.t[some], f.breaks)
    for name in ("key_force", "key_travel", "pallet_lift", "energy"):
        assert np.array_equal(seen[name][inside], played[name][some][inside]), name
    assert f.observe([], np.empty((0, len(f.start))))["key_travel"].shape == (0,)


def test_hands_off_it_stays_at_rest(short_model, f):
    idle = right_hand_side(short_model)
    speeds = [i for i, row in enumerate(f.states) if row.kind == "speed"]
    played = short_model.play(STROKE)
    moving = np.array([f(t, y) for t, y in zip(played.t[::20], played.y[::20], strict=True)])
    assert np.max(np.abs(idle(0.0, idle.start)[speeds])) < 1e-5 * np.max(np.abs(moving[:, speeds]))


def test_the_jacobian_is_that_of_the_rates(short_model):
    motion = short_model.play(STROKE)
    y = motion.y[np.searchsorted(motion.t, 0.02)].copy()
    found = jacobian(short_model, y, STROKE, 0.02)
    f = right_hand_side(short_model, STROKE)
    n = len(found)
    assert found.shape == (n, n) and n == len(y) - 4
    for j in range(n):
        step = 1e-6 * max(abs(y[j]), 1e-3)
        up, down = y.copy(), y.copy()
        up[j] += step
        down[j] -= step
        central = (f(0.02, up) - f(0.02, down))[:n] / (2 * step)
        assert found[:, j] == pytest.approx(central, rel=2e-4, abs=1e-5 * (1 + np.max(np.abs(central))))


@pytest.mark.parametrize("wrong", [3, 1000])
def test_a_state_of_another_length_is_refused(f, short_model, wrong):
    for act in (lambda y: f(0.0, y), lambda y: f.jacobian(0.0, y), lambda y: jacobian(short_model, y)):
        with pytest.raises(ValueError, match=rf"a state has {len(f.start)} entries in one axis; given: \({wrong},\)"):
            act(np.zeros(wrong))
    with pytest.raises(ValueError, match="given"):
        f.observe([0.0, 1.0], np.zeros((1, len(f.start))))


def test_a_laid_mass_has_its_own_equations(short_model):
    f = right_hand_side(short_model, drives.laid_mass(0.3))
    assert f.kernel is short_model.kernel(rider=True)
    assert f(0.0, f.start).shape == f.start.shape


# -- parameters ------------------------------------------------------------------------------------------
def test_other_parameters_make_another_note(short_model):
    name, before = Name("pull-down", "k"), short_model.train.value("pull-down", "k")
    softer = short_model.with_parameters(k_pull_down=before / 4)
    assert softer.train.parameters[name].value == before / 4
    assert softer.train.parameters[name].origin == "set for this note"
    assert short_model.train.parameters[name].value == before
    at = short_model.kernel().parameters.index(name)
    changed = softer.parameters() != short_model.parameters()
    assert changed[at] and changed.sum() == 1
    one, other = (model.play(STROKE)["pallet_lift"] for model in (short_model, softer))
    assert not np.allclose(one, other, rtol=1e-4)


def test_what_is_computed_from_a_part_follows(short_model):
    model = short_model.with_parameters(p_box=500.0)
    assert model.train.role("box").values.derived["p_box"].value == 500.0
    assert short_model.train.role("box").values.derived["p_box"].value != 500.0


def test_nothing_changed_is_the_same_motion(short_model):
    same = short_model.with_parameters(p_box=short_model.train.box_pressure)
    assert np.array_equal(same.play(STROKE).y, short_model.play(STROKE).y)


def test_wrong_parameters_are_refused_all_at_once(short_model):
    with pytest.raises(ValueError) as problem:
        short_model.with_parameters(p_bx=1.0, p_box=float("nan"), g="9.8 m/s^2")
    told = str(problem.value)
    assert "no parameter 'p_bx'; did you mean 'p_box'?" in told
    assert "p_box = nan: a finite number is needed, in Pa" in told
    assert "g = '9.8 m/s^2': a finite number is needed, in m/s^2" in told
