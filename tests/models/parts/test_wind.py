"""Groove and pallet box by hand: volume, toe openings, and the state of the air."""

from math import exp, pi, sqrt

import pytest
from by_hand import figures
from scipy.constants import R

STOPS = {
    "groove.feet_area": None,
    "groove.stops.0.name": "first",
    "groove.stops.0.area": "60 mm^2",
    "groove.stops.0.drawn": True,
    "groove.stops.1.name": "second",
    "groove.stops.1.area": "45 mm^2",
    "groove.stops.1.drawn": False,
    "groove.stops.2.name": "third",
    "groove.stops.2.area": "20 mm^2",
    "groove.stops.2.drawn": True,
    "groove.stops.3.name": "never said",
    "groove.stops.3.area": "11 mm^2",
}


def groove(make_train, **fields):
    return figures(make_train(**{f"groove.{name}": value for name, value in fields.items()}), "groove")


def test_volume(make_train):
    assert groove(make_train)["V"] == pytest.approx(0.900 * 0.018 * 0.080, rel=1e-12)
    assert groove(make_train, volume="1.5 L")["V"] == pytest.approx(1.5e-3, rel=1e-12)


def test_toes_and_leak_with_their_flow_coefficient(make_train):
    found = groove(make_train, feet_flow=0.7, gap_flow=0.65, leak="3 mm^2")
    assert found["A_out"] == pytest.approx(0.7 * (150e-6 + 3e-6), rel=1e-12)
    assert (found["Cd"], found["feet"]) == pytest.approx((0.65, 150e-6), rel=1e-12)


def test_only_drawn_stops_speak(make_train):
    found = figures(make_train(**STOPS), "groove")
    assert found["feet"] == pytest.approx(80e-6, rel=1e-12)
    assert found["A_out"] == pytest.approx(0.6 * 82e-6, rel=1e-12)


@pytest.mark.parametrize("gap", [1e-5, 3e-4, 5e-3])
def test_gap_and_slot_in_series(make_train, gap):
    # Two openings in line share the drop so that both pass the same: 1/A^2 = 1/gap^2 + 1/slot^2.
    train = make_train()
    system = train.system()
    (area,) = [one.expr for one in system.definitions if one.symbol.name == "A_in_groove"]
    (symbol,) = [one.symbol for one in system.definitions if one.symbol.name == "A_gap_pallet"]
    known = {p.symbol: train.parameters[p.name].value for p in system.params}
    expected = 0.61 / sqrt(1 / gap**2 + 1 / (0.220 * 0.017) ** 2)
    assert float(area.subs(symbol, gap).subs(known)) == pytest.approx(expected, rel=1e-12)


def test_the_groove_loses_what_flows_out_and_what_the_pallet_sweeps(make_train):
    # Adiabatic: V dp/dt = 1.4 p_atm (in - out - swept), with the pallet opening at 0.5 rad/s and no flow in.
    train = make_train()
    system = train.system()
    row = next(i for i, state in enumerate(system.states) if state.name == "p_groove")
    found = figures(train, "pallet")
    values = dict.fromkeys(system.rates[row].free_symbols, 0.0)
    values |= {p.symbol: train.parameters[p.name].value for p in system.params}
    values |= {one.symbol: 0.5 for one in system.states if one.name == "v_pallet"}
    values |= {one.symbol: 1e-3 for one in system.definitions if one.symbol.name == "Q_out_groove"}
    expected = 1.4 * 101325 / (0.900 * 0.018 * 0.080) * (-1e-3 - 0.5 * found["S_wind"])
    assert float(system.rates[row].subs(values)) == pytest.approx(expected, rel=1e-12)


# -- the box ---------------------------------------------------------------------------------------------
def ideal_air(celsius, pressure, humidity):
    """Density of dry air and vapour as ideal gases; saturation after O. Tetens' formula (from memory)."""
    kelvin = celsius + 273.15
    vapour = humidity * 610.78 * exp(17.27 * celsius / (celsius + 237.3))
    return ((pressure - vapour) * 0.0289655 + vapour * 0.018015) / (R * kelvin)


@pytest.mark.parametrize(
    ("celsius", "pressure", "humidity"),
    [(20, 101325, 0.5), (15, 101325, 0.0), (8, 95000, 0.9), (30, 101325, 0.2), (25, 80000, 0.6)],
)
def test_density_of_the_air(make_train, celsius, pressure, humidity):
    state = {"box.temperature": celsius + 273.15, "box.atmosphere": float(pressure), "box.humidity": humidity}
    found = figures(make_train(**state), "box")
    # Real air is denser than the ideal gases by 3 to 5 parts in ten thousand.
    assert found["rho_air"] == pytest.approx(ideal_air(celsius, pressure, humidity), rel=8e-4)
    assert found["p_atm"] == pressure


def test_air_is_lighter_when_warmer_wetter_or_higher_up(make_train):
    def air(**fields):
        return figures(make_train(**{f"box.{name}": value for name, value in fields.items()}), "box")["rho_air"]

    assert air(temperature="30 degC") < air() < air(temperature="10 degC")
    assert air(humidity=1.0) < air() < air(humidity=0.0)
    assert air(atmosphere="90 kPa") / air() == pytest.approx(90 / 101.325, rel=2e-3)


def test_pressure_of_the_box(make_train):
    assert figures(make_train(**{"box.pressure": "82 mmH2O"}), "box")["p_box"] == pytest.approx(82 * 9.80665, rel=1e-4)


def test_flow_of_a_round_toe(make_train):
    # A toe of 8 mm alone under 75 mm of water: 0.6 A sqrt(2 p / rho), as a jet of 35 m/s.
    train = make_train(**{"groove.feet_area": pi * 0.008**2 / 4, "groove.leak": 0.0})
    system = train.system()
    (flow,) = [one.expr for one in system.definitions if one.symbol.name == "Q_out_groove"]
    (pressure,) = [one.symbol for one in system.states if one.name == "p_groove"]
    known = {p.symbol: train.parameters[p.name].value for p in system.params}
    expected = 0.6 * pi * 0.008**2 / 4 * sqrt(2 * 75 * 9.80665 / 1.1992)
    assert float(flow.subs(pressure, 75 * 9.80665).subs(known)) == pytest.approx(expected, rel=2e-4)
