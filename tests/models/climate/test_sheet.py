"""The plane sheet by diffusion itself: against other closed forms, sums over cells, and its slow and fast limits."""

import cmath
import math

import numpy as np
import pytest
from scipy.integrate import simpson

from keyaction.models.climate.sheet import taken_up, time_to, wave_answer

DAY = 86400.0
D = 1e-10


@pytest.mark.parametrize("fourier", [1e-4, 1e-3, 0.01, 0.03])
def test_at_first_it_is_a_half_space(fourier):
    # Two faces of a body without end: 4 sqrt(D t / pi L²), before the middle knows of it (textbook).
    assert taken_up(fourier) == pytest.approx(4 * math.sqrt(fourier / math.pi), rel=2e-3)


def by_cells(fourier, biot, cells=100):
    """The same by finite volumes over half of a sheet of unit thickness, by the eigenvectors of its matrix."""
    h = 0.5 / cells
    between = np.full(cells - 1, 1 / h)
    face = 1 / (h / 2 + (0.5 / biot if math.isfinite(biot) else 0.0))
    a = np.diag(-(np.r_[0, between] + np.r_[between, face])) + np.diag(between, 1) + np.diag(between, -1)
    values, vectors = np.linalg.eigh(a / h)
    ones = vectors.T @ np.ones(cells)
    return 1 - float(np.sum(ones**2 * np.exp(values * fourier)) / cells)


@pytest.mark.parametrize("biot", [math.inf, 10.0, 1.0, 0.1])
@pytest.mark.parametrize("fourier", [0.02, 0.1, 0.5])
def test_sums_over_cells_say_the_same(fourier, biot):
    assert taken_up(fourier, biot) == pytest.approx(by_cells(fourier, biot), abs=1e-4)


def test_a_film_that_rules_is_of_first_order():
    # Nothing but the film holds moisture up: rate 1/(L R/2), B = L/(2 D R), so D t/L² x 4 B (textbook, lumped body).
    biot, fourier = 1e-4, 2000.0
    assert taken_up(fourier, biot) == pytest.approx(1 - math.exp(-4 * biot * fourier), abs=1e-4)


def test_the_time_to_a_share_is_the_uptakes_inverse():
    for share in (0.1, 0.5, 0.9, 0.99):
        assert taken_up(time_to(share)) == pytest.approx(share, abs=1e-12)


@pytest.mark.parametrize("biot", [math.inf, 2.0])
def test_the_area_between_a_step_and_its_answer_is_the_lag_of_first_order(biot):
    # L²/12D, with a film L²/12D + L R/2: in D t/L² 1/12 + 1/(4 B). Over roots of time, in which it begins straight.
    roots = np.linspace(1e-4, 2.5, 400)
    left = [1 - taken_up(float(one) ** 2, biot) for one in roots]
    area = simpson(2 * roots * left, x=roots)
    assert area == pytest.approx(1 / 12 + (0 if math.isinf(biot) else 1 / (4 * biot)), rel=1e-5)


@pytest.mark.parametrize(("thickness", "film"), [(0.004, 0.0), (0.004, 5e7), (0.02, 0.0)])
def test_slow_waves_lag_by_l_squared_over_twelve_d(thickness, film):
    swing, behind = wave_answer(thickness, 3000 * DAY, D, film)
    assert behind == pytest.approx(thickness**2 / 12 / D + thickness * film / 2, rel=1e-3)
    assert swing == pytest.approx(1, abs=1e-3)


def test_fast_waves_lag_by_an_eighth_of_their_period():
    swing, behind = wave_answer(0.05, DAY, D)
    assert behind == pytest.approx(DAY / 8, rel=1e-4)
    # Skin deep: 1/|z|, z = L/2 sqrt(w/D).
    assert swing == pytest.approx(2 / 0.05 * math.sqrt(D * DAY / 2 / math.pi), rel=1e-4)


def test_a_wave_is_what_the_answers_to_steps_add_up_to():
    # Transfer from the step's series: sum of its exponentials under i w, for a sheet with a film.
    thickness, film, period = 0.012, 3e7, 20 * DAY
    w, biot = 2 * math.pi / period, thickness / (2 * D * film)
    t = np.arange(0.0, 60 * DAY, DAY / 10)
    left = np.array([1 - taken_up(max(D * one / thickness**2, 1e-9), biot) for one in t])
    answer = 1 - 1j * w * simpson(left * np.exp(-1j * w * t), x=t)
    swing, behind = wave_answer(thickness, period, D, film)
    assert abs(answer) == pytest.approx(swing, rel=1e-4)
    assert -cmath.phase(answer) / w == pytest.approx(behind, rel=1e-3)
