"""The first-order law: its closed forms, another way of reckoning it, and the plane sheet that it stands for."""

import math
from datetime import date
from itertools import pairwise

import numpy as np
import pytest

from keyaction.models.climate.lag import (
    DIFFUSION,
    FINISHES,
    equilibrium,
    followed,
    moisture,
    repeats,
    time_constant,
)
from keyaction.models.climate.sheet import taken_up, time_to, wave_answer
from keyaction.models.climate.states import ZERO, steady
from keyaction.models.climate.wave import wave
from keyaction.models.climate.year import DAY, YEAR, Year
from keyaction.models.formulas.wood import moisture_content

HOUR = 3600.0


# -- the law -------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("step", [HOUR, DAY, 40 * DAY])
def test_a_step_is_answered_by_an_exponential_at_every_instant(step):
    t, tau = step * np.arange(50.0), 5 * DAY
    assert followed(np.ones(50), t, tau, 0.0) == pytest.approx(-np.expm1(-t / tau), abs=1e-12)


def test_a_slope_is_followed_at_its_lag():
    t, tau = DAY * np.arange(80.0), 3 * DAY
    expected = t - tau * -np.expm1(-t / tau)  # the closed form of what begins together with a straight line
    assert followed(t, t, tau, 0.0) == pytest.approx(expected, rel=1e-12, abs=1e-6)


def test_a_wave_is_followed_with_its_swing_and_its_lag():
    # Closed form: swing 1/sqrt(1 + (w tau)²), atan(w tau)/w behind; lines between hours cut it by (w h)²/12.
    w, tau, t = 2 * math.pi / (30 * DAY), 6 * DAY, HOUR * np.arange(24 * 240.0)
    swing, behind = 1 / math.hypot(1, w * tau), math.atan(w * tau) / w
    settled = slice(24 * 120, None)
    found = followed(np.cos(w * t), t, tau, 0.0)[settled]
    assert found == pytest.approx(swing * np.cos(w * (t[settled] - behind)), abs=1e-5)


def by_steps(values, seconds, tau, first):
    """The same, instant after instant, by many small steps of the trapezoidal rule along each line."""
    found, now, fine = [first], first, 400
    for i in range(len(values) - 1):
        small = (seconds[i + 1] - seconds[i]) / fine / tau
        rise = (values[i + 1] - values[i]) / fine
        for k in range(fine):
            middle = values[i] + (k + 0.5) * rise
            now = (now * (1 - small / 2) + small * middle) / (1 + small / 2)
        found.append(now)
    return found


def test_uneven_instants_and_many_lags_at_once():
    rng = np.random.default_rng(11)
    seconds = np.concatenate(([0.0], np.cumsum(rng.uniform(0.1, 2.0, 30)))) * DAY
    values, lags = rng.uniform(0.05, 0.2, 31), np.array([0.3, 2.0, 30.0]) * DAY
    first = np.array([0.1, 0.12, 0.2])
    found = followed(values, seconds, lags, first)
    assert found.shape == (3, 31)
    for row, tau, start in zip(found, lags.tolist(), first.tolist(), strict=True):
        assert row == pytest.approx(by_steps(values.tolist(), seconds.tolist(), tau, start), abs=2e-6)
        assert row == pytest.approx(followed(values, seconds, tau, start), abs=1e-14)


def test_no_lag_follows_at_once_and_an_endless_one_never():
    values, t = np.array([1.0, 3.0, -2.0]), np.array([0.0, 5.0, 6.0])
    found = followed(values, t, np.array([0.0, math.inf]), 7.0)
    assert found[0].tolist() == values.tolist()
    assert found[1] == pytest.approx([7.0, 7.0, 7.0], abs=1e-12)


def test_it_is_linear_and_never_leaves_what_it_follows():
    rng = np.random.default_rng(3)
    t, one, two = DAY * np.arange(200.0), rng.normal(size=200), rng.normal(size=200)
    parts = followed(one, t, 4e5, 0.3) + 2 * followed(two, t, 4e5, -0.1)
    assert followed(one + 2 * two, t, 4e5, 0.1) == pytest.approx(parts, abs=1e-12)
    slow = followed(one, t, np.geomspace(1.0, 1e9, 40), 0.0)
    assert slow.max() <= one.max()
    assert slow.min() >= one.min()


def test_what_is_finer_cut_is_the_same():
    t = DAY * np.arange(20.0)
    values = np.sin(t / 3e5)
    fine = np.linspace(0, t[-1], 19 * 24 + 1)
    between = followed(np.interp(fine, t, values), fine, 2e5, 0.4)
    assert between[::24] == pytest.approx(followed(values, t, 2e5, 0.4), abs=1e-12)


# -- its time ------------------------------------------------------------------------------------------------
def test_the_time_grows_with_the_square_of_the_thickness():
    assert time_constant(0.020) == pytest.approx(0.020**2 / 12 / DIFFUSION)
    assert time_constant(0.040) == pytest.approx(4 * time_constant(0.020))
    assert time_constant(0.020, faces=1) == pytest.approx(time_constant(0.040))


@pytest.mark.parametrize("name", [name for name in FINISHES if name not in ("bare", "linseed-oil-3")])
def test_a_film_weighs_more_on_thin_wood(name):
    for faces in (1, 2):
        thin, thick = (time_constant(one, name, faces) / time_constant(one, "bare", faces) for one in (0.002, 0.06))
        assert thin > thick > 1
    film = time_constant(0.006, name) - time_constant(0.006)
    assert time_constant(0.030, name) - time_constant(0.030) == pytest.approx(5 * film)
    assert time_constant(0.006, name, 1) - time_constant(0.006, faces=1) == pytest.approx(2 * film)


@pytest.mark.parametrize("name", ["bare", "shellac-2", "epoxy-3"])
def test_slow_waves_lag_as_by_diffusion_itself(name):
    # The sheet under its film (closed form of diffusion): what the first-order law's time is chosen for.
    tau, period = time_constant(0.020, name), 400 * time_constant(0.020, name)
    _, behind = wave_answer(0.020, period, DIFFUSION, FINISHES[name].resistance)
    assert behind == pytest.approx(tau, rel=2e-4)


def test_how_far_first_order_departs_from_diffusion():
    # The figures that the docstring of the module gives.
    late, early = math.log(2) / 12 / time_to(0.5), math.log(10) / 12 / time_to(0.9)
    assert (late - 1, early - 1) == (pytest.approx(0.174, abs=1e-3), pytest.approx(-0.095, abs=1e-3))
    for thickness, period, hours, swing, other_hours, other_swing in (
        (0.020, YEAR, 92.46, 0.9978, 92.35, 0.9969),
        (0.038, YEAR, 328.1, 0.972, 323.5, 0.962),
        (0.002, DAY, 0.908, 0.972, 0.895, 0.961),
        (0.010, DAY, 5.375, 0.163, 3.005, 0.233),
        (0.020, DAY, 5.843, 0.041, 3.000, 0.117),
    ):
        w, tau = 2 * math.pi / period, time_constant(thickness)
        assert math.atan(w * tau) / w / HOUR == pytest.approx(hours, rel=1e-3)
        assert 1 / math.hypot(1, w * tau) == pytest.approx(swing, abs=6e-4)
        exact = wave_answer(thickness, period, DIFFUSION)
        assert exact == (pytest.approx(other_swing, abs=6e-4), pytest.approx(other_hours * HOUR, rel=1e-3))


@pytest.mark.parametrize(
    ("thickness", "faces"), [(0.0, 2), (-0.01, 2), (math.nan, 2), (math.inf, 2), (0.02, 0), (0.02, 3)]
)
def test_no_such_sheet(thickness, faces):
    with pytest.raises(ValueError, match="thickness" if faces == 2 else "faces"):
        time_constant(thickness, faces=faces)


def test_no_such_finish():
    with pytest.raises(KeyError):
        time_constant(0.02, "shellac")


# -- finishes ------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("name", FINISHES)
def test_a_finish_keeps_out_what_was_measured_and_less_as_time_goes(name):
    finish = FINISHES[name]
    assert finish.kept_out(14) == pytest.approx(finish.effectiveness, abs=1e-12)
    course = [finish.kept_out(days) for days in (0.5, 1, 3, 7, 14, 30, 90)]
    assert all(a >= b for a, b in pairwise(course))
    assert finish.doc
    assert finish.source
    assert (finish.factor, finish.resistance) == (1, 0) if not finish.effectiveness else finish.factor > 1.4


def test_one_coat_more_slows_more():
    for kind in ("shellac", "lacquer", "varnish", "epoxy"):
        assert FINISHES[f"{kind}-3"].factor > FINISHES[f"{kind}-2"].factor


@pytest.mark.parametrize("name", ["shellac-2", "varnish-3", "epoxy-2"])
def test_diffusion_under_the_film_keeps_out_as_much_on_the_14th_day(name):
    # Second way: the series of a sheet with a film, in place of first order.
    fourier, biot = DIFFUSION * 14 * DAY / 0.016**2, 0.016 / (2 * DIFFUSION * FINISHES[name].resistance)
    kept = 1 - taken_up(fourier, biot) / taken_up(fourier)
    assert kept == pytest.approx(FINISHES[name].effectiveness, abs=0.005)


# -- a year of wood ------------------------------------------------------------------------------------------
def test_a_year_ends_as_it_began():
    year = wave((ZERO + 15, 0.5), (8.0, 0.2))
    lags = np.array([0.0, 0.1, 3.0, 100.0, 3000.0]) * DAY
    found = moisture(year, lags)
    twice = Year("twice", np.concatenate((year.seconds, year.seconds + YEAR)), np.tile(year.temperature, 2),
                 np.tile(year.humidity, 2))  # fmt: skip
    again = moisture(twice, lags)
    assert again[:, :365] == pytest.approx(found, abs=1e-9)
    assert again[:, 365:] == pytest.approx(found, abs=1e-9)
    assert found[0] == pytest.approx(equilibrium(year), abs=1e-15)
    assert moisture(year, 3 * DAY) == pytest.approx(found[2], abs=1e-15)


def test_settling_is_running_the_year_over_and_over():
    year = wave((ZERO + 15, 0.5), (8.0, 0.2))
    tau, start = 40 * DAY, 0.2
    rest = equilibrium(year)
    for _ in range(4):
        course = followed(np.append(rest, rest[0]), np.append(year.seconds, YEAR), tau, start)
        start = course[-1]
    assert moisture(year, tau) == pytest.approx(course[:-1], abs=1e-9)


def test_the_mean_over_a_year_is_that_of_rest_and_slow_wood_hardly_leaves_it():
    year = wave((ZERO + 15, 0.5), (8.0, 0.2))
    found = moisture(year, np.array([1.0, 100.0, 3000.0]) * DAY)
    assert found.mean(axis=1) == pytest.approx(equilibrium(year).mean(), abs=1e-6)
    swings = np.ptp(found, axis=1)
    assert swings[0] > 2 * swings[1] > 20 * swings[2]


def test_a_whole_year_of_changing_air_repeats_itself_and_nothing_else_does():
    air = (ZERO + 15, 0.5)
    assert not repeats(wave(air, (8.0, 0.2), days=329))
    assert repeats(wave(air, (8.0, 0.2), days=330))
    assert repeats(wave(air, (8.0, 0.0)))
    assert repeats(wave(air, (0.0, 0.2)))
    assert not repeats(wave(air, (0.0, 0.0), days=3 * 365))
    assert not repeats(steady("heated-dry-winter", days=3 * 365))
    hours = HOUR * np.arange(330 * 24.0)
    courses = np.full(len(hours), ZERO + 15), 0.5 + 1e-4 * np.arange(len(hours)) / len(hours)
    assert repeats(Year("hours", hours, *courses))
    assert not repeats(Year("an hour less", hours[:-1], *(one[:-1] for one in courses)))


@pytest.mark.parametrize("days", [59, 365])
def test_other_climates_find_the_wood_as_it_was(days):
    dry = steady("heated-dry-winter", days=days)
    rest = moisture_content(ZERO + 20, 0.25)
    assert moisture(dry, 5 * DAY) == pytest.approx(np.full(days, rest), abs=1e-12)
    found = moisture(dry, np.array([5.0, 50.0]) * DAY, first=0.12)
    gone = np.exp(-dry.days / np.array([[5.0], [50.0]]))
    assert found == pytest.approx(rest + (0.12 - rest) * gone, abs=1e-12)


def test_a_winter_begins_as_it_was_regulated():
    winter = wave((ZERO + 15, 0.5), (8.0, 0.2), days=90)
    found = moisture(winter, 20 * DAY, first=0.12)
    assert found == pytest.approx(followed(equilibrium(winter), winter.seconds, 20 * DAY, 0.12), abs=1e-15)
    assert found[0] == 0.12


def test_an_endless_lag_never_follows():
    year, winter = (wave((ZERO + 15, 0.5), (8.0, 0.2), days=days) for days in (365, 90))
    slow, endless = moisture(year, np.array([1e13, math.inf]))
    mean = np.full(365, equilibrium(year).mean())
    assert slow == pytest.approx(mean, abs=1e-6)
    assert endless == pytest.approx(mean, abs=1e-6)
    assert moisture(winter, math.inf, first=0.12) == pytest.approx(np.full(90, 0.12), abs=1e-15)


@pytest.mark.parametrize("lag", [-1.0, -math.inf, math.nan])
@pytest.mark.parametrize("days", [90, 365])
def test_no_such_lag(lag, days):
    with pytest.raises(ValueError, match=r"lag .*: it must be 0 or more"):
        moisture(wave((ZERO + 15, 0.5), (8.0, 0.2), days=days), np.array([DAY, lag]))


@pytest.mark.parametrize("breadth", [-0.1, math.inf, math.nan])
def test_no_such_breadth(breadth):
    with pytest.raises(ValueError, match="breadth"):
        time_constant(0.02, breadth=breadth)


def test_one_instant_alone():
    lone = Year("one", np.array([0.0]), np.array([ZERO - 20]), np.array([1.0]), date(2025, 1, 1))
    assert moisture(lone, 5 * DAY, first=0.1).tolist() == [0.1]
    assert moisture(lone, np.array([0.0, 5 * DAY]))[:, 0] == pytest.approx(moisture_content(ZERO - 1.1, 0.95), rel=1e-9)


def test_trackers_follow_in_days_and_beams_in_months():
    assert time_constant(0.010) < 2 * DAY
    assert 30 * DAY < time_constant(0.060) < 40 * DAY < time_constant(0.060, "shellac-2")


def double_series(a, b, terms=60):
    """Mean delay of a rectangle behind a slow change, over 1/D: sum over odd m, n of its modes' shares and times."""
    odd = np.arange(1, 2 * terms, 2)
    m, n = np.meshgrid(odd, odd)
    share = (8 / math.pi**2) ** 2 / (m * n) ** 2
    return float(np.sum(share / (math.pi**2 * ((m / a) ** 2 + (n / b) ** 2))))


@pytest.mark.parametrize("sizes", [(0.02, 0.02), (0.07, 0.045), (0.04, 0.2)])
def test_the_lag_of_a_rectangle_is_that_of_all_its_modes(sizes):
    # The mean of cos m x cos n y modes (J. Crank, The Mathematics of Diffusion, 2nd ed., 1975: products of sheets).
    thin, broad = sizes
    assert time_constant(thin, breadth=broad) == pytest.approx(double_series(thin, broad) / DIFFUSION, rel=1e-4)
    assert time_constant(broad, breadth=thin) == pytest.approx(time_constant(thin, breadth=broad), rel=1e-12)


def test_a_broad_piece_is_a_sheet_and_a_film_counts_by_area_over_girth():
    assert time_constant(0.02, breadth=200.0) == pytest.approx(time_constant(0.02), rel=1e-4)
    film = time_constant(0.03, "shellac-3", breadth=0.05) - time_constant(0.03, breadth=0.05)
    sheet = time_constant(0.03, "shellac-3") - time_constant(0.03)
    assert film == pytest.approx(sheet * (0.05 / 0.08), rel=1e-9)
    assert time_constant(0.01, faces=1, breadth=0.03) == pytest.approx(time_constant(0.02, breadth=0.03), rel=1e-12)
