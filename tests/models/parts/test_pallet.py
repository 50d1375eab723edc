"""The pallet by hand: a hinged board over an opening, pressed on its seat by spring and wind."""

from math import hypot

import pytest
from beams import pulled_board
from by_hand import SPRUCE, G, bar_inertia, carried_inertia, figures, load_on
from demo_train import FRICTIONLESS
from scipy.integrate import quad

from keyaction.sim.motion import drives

LONG, ACROSS, BEHIND, MARGIN, THICK, OVER = 0.220, 0.017, 0.015, 0.0015, 0.022, 0.003
FAR = BEHIND + LONG
WHOLE = FAR + OVER
BOARD = SPRUCE.density * THICK * (ACROSS + 2 * OVER) * WHOLE
PRESSURE = 75 * G
SPRING = 0.120 * 2.3


def pallet(make_train, **fields):
    return figures(make_train(**{f"pallet.{name}": value for name, value in fields.items()}), "pallet")


def test_mass_with_the_overlap(make_train):
    assert pallet(make_train)["m"] == pytest.approx(BOARD, rel=1e-12)
    wider = SPRUCE.density * THICK * (ACROSS + 2 * 0.005) * (FAR + 0.005)
    assert pallet(make_train, overlap="5 mm")["m"] == pytest.approx(wider, rel=1e-12)


def test_inertia_about_the_hinge(make_train):
    found = pallet(make_train)
    assert found["J"] == pytest.approx(BOARD * (WHOLE**2 / 3 + THICK**2 / 12), rel=1e-12)
    assert found["J"] == pytest.approx(bar_inertia(SPRUCE.density, ACROSS + 2 * OVER, 0.0, WHOLE, THICK), rel=1e-9)
    # The depth's own share is small but there: with a board of twice the depth, of a wood of half the weight ...
    deep = pallet(make_train, thickness="60 mm")
    assert deep["J"] / deep["m"] - found["J"] / found["m"] == pytest.approx((0.060**2 - THICK**2) / 12, rel=1e-9)


@pytest.mark.parametrize(("opens", "helps"), [("down", 1), ("sideways", 0), ("up", -1)])
def test_moment_of_weight(make_train, opens, helps):
    assert pallet(make_train, opens=opens)["B"] == pytest.approx(helps * BOARD * G * WHOLE / 2, rel=1e-12)


def test_what_was_measured_takes_the_place_of_the_sizes(make_train):
    found = pallet(make_train, mass="55 g", inertia="9 kg*cm^2", opens="up")
    assert (found["m"], found["J"]) == pytest.approx((0.055, 9e-4), rel=1e-12)
    assert found["B"] == pytest.approx(-0.055 * G * WHOLE / 2, rel=1e-12)
    weighed = pallet(make_train, mass="55 g")
    assert weighed["J"] == pytest.approx(0.055 * (WHOLE**2 / 3 + THICK**2 / 12), rel=1e-12)


# -- wind ------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(("behind", "margin"), [(0.015, 0.0015), (0.015, 0.0), (0.0, 0.003), (0.001, 0.004)])
def test_moment_of_the_wind_with_its_sealing_margin(make_train, behind, margin):
    # Pressure on a strip at x from the hinge times x, over the sealed length; the seal ends at the hinge.
    found = pallet(make_train, hinge_to_opening=behind, sealing_margin=margin)
    near, far = max(behind - margin, 0.0), behind + LONG + margin
    moment, _ = quad(lambda x: (ACROSS + 2 * margin) * x, near, far)
    assert found["S_wind"] == pytest.approx(moment, rel=1e-12)
    assert found["wind_at_eye"] == pytest.approx(PRESSURE * moment / 0.200, rel=1e-9)


def test_gap_of_the_opened_pallet(make_train):
    # A small turn opens a slit at the front, one at the rear, and a wedge on either side.
    turn, found = 1e-3, pallet(make_train)
    wedge, _ = quad(lambda x: x * turn, BEHIND, FAR)
    assert found["gap"] * turn == pytest.approx(ACROSS * FAR * turn + ACROSS * BEHIND * turn + 2 * wedge, rel=1e-12)
    assert found["A_slot"] == pytest.approx(LONG * ACROSS, rel=1e-12)
    assert found["half_area_rule"] == pytest.approx(LONG * ACROSS * PRESSURE / 2, rel=1e-12)


# -- seat ------------------------------------------------------------------------------------------------
def test_place_of_the_seat(make_train):
    # Resultant of even beds along both sides of the opening that are squeezed in proportion to the way from the hinge.
    for behind in (0.0, BEHIND, 0.080):
        moment, _ = quad(lambda x: x * x, behind, behind + LONG)
        load, _ = quad(lambda x: x, behind, behind + LONG)
        found = pallet(make_train, hinge_to_opening=behind)["r_seat"]
        assert found == pytest.approx(moment / load, rel=1e-9)
        assert behind or found == pytest.approx(2 / 3 * LONG, rel=1e-12)


@pytest.mark.parametrize(("opens", "helps"), [("down", 1), ("sideways", 0), ("up", -1)])
def test_squeeze_of_the_seat_in_equilibrium(make_train, opens, helps):
    found = pallet(make_train, opens=opens)
    sealed = (ACROSS + 2 * MARGIN) * ((FAR + MARGIN) ** 2 - (BEHIND - MARGIN) ** 2) / 2
    closing = SPRING + PRESSURE * sealed - helps * BOARD * G * WHOLE / 2
    place = 2 / 3 * (FAR**3 - BEHIND**3) / (FAR**2 - BEHIND**2)
    # The seat gives 0.3 mm under 3.8 N, and by its load's 2/3 power.
    assert found["x0_seat"] == pytest.approx(0.0003 * (closing / place / 3.8) ** (2 / 3), rel=1e-9)
    assert found["K_seat"] == pytest.approx(3.8 / 0.0003**1.5, rel=1e-12)
    assert place * found["K_seat"] * found["x0_seat"] ** 1.5 == pytest.approx(closing, rel=1e-9)
    assert found["q_open"] * place == pytest.approx(found["x0_seat"], rel=1e-12)


def test_closing_force_at_the_eye_without_wind(make_train):
    weight = BOARD * G * WHOLE / 2
    assert pallet(make_train)["closing_no_wind"] == pytest.approx((SPRING - weight) / 0.200, rel=1e-12)
    assert pallet(make_train, eye="150 mm")["closing_no_wind"] == pytest.approx((SPRING - weight) / 0.150, rel=1e-12)


def test_a_pallet_that_nothing_closes_lies_on_no_seat(make_train):
    train = make_train(**{"spring.force": 0.0, "box.pressure": 0.0})
    found = figures(train, "pallet")
    assert (found["x0_seat"], found["q_open"]) == (0.0, 0.0)
    assert sum("cipher" in one.text or "sounds unplayed" in one.text for one in train.warnings) == 2


# -- in the equations ------------------------------------------------------------------------------------
def test_the_wire_s_half_rides_on_the_eye(make_train):
    train = make_train()
    wire = figures(train, "pd")["m"]
    expected = BOARD * (WHOLE**2 / 3 + THICK**2 / 12) + wire / 2 * 0.200**2
    assert carried_inertia(train, "pallet") == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(("opens", "helps"), [("down", 1), ("sideways", 0), ("up", -1)])
def test_the_hinge_carries_what_is_left_over(make_train, opens, helps):
    # Opening: pull-down, seat, and its weight where it opens downwards. Closing: wind on the sealed area, spring.
    train = make_train(**{"pallet.opens": opens})
    wind = PRESSURE * (ACROSS + 2 * MARGIN) * (LONG + 2 * MARGIN)
    across = 6.0 + 4.0 + helps * BOARD * G - wind - 2.5
    along = 0.0 if helps else BOARD * G
    given = {"F_pd": 6.0, "F_seat_pallet": 4.0, "F_spring": 2.5 * 0.120}
    assert load_on(train, "pin_pallet", **given) == pytest.approx(hypot(across, along, 1e-3), rel=1e-9)
    # With the groove full the wind's share is gone.
    full = load_on(train, "pin_pallet", **given, p_groove=PRESSURE)
    assert full == pytest.approx(hypot(across + wind, along, 1e-3), rel=1e-9)


def test_the_resting_hinge_carries_wind_and_spring_less_the_seat(make_model):
    # Statics of a lever: forces and moments about the hinge balance, whatever friction is, on a train at rest.
    model = make_model(**FRICTIONLESS)
    found = figures(model.train, "pallet")
    motion = model.play(drives.force(0.0, 0.01, 0.01, 0.01))
    seat, pull = motion["force_pallet-seat"][0], motion["force_pd"][0]
    wind, middle = PRESSURE * (ACROSS + 2 * MARGIN) * (LONG + 2 * MARGIN), BEHIND + LONG / 2
    closing = wind * middle + 2.3 * 0.120
    wire = figures(model.train, "pd")["m"] / 2 * G
    opening = seat * found["r_seat"] + (pull + wire) * 0.200 + BOARD * G * WHOLE / 2
    assert opening == pytest.approx(closing, rel=1e-4)
    # The half wire hangs on the eye; no pin's load counts the weight of rods.
    assert load_at_rest(model) == pytest.approx(wind + 2.3 - seat - pull - BOARD * G, rel=1e-4)


def load_at_rest(model):
    """Load on the pallet's pin in the state of rest."""
    kernel, system = model.kernel(), model.train.system()
    rest = dict(zip(kernel.states, model.rest(), strict=True))
    known = {p.symbol: model.train.parameters[p.name].value for p in system.params}
    known |= {row.symbol: rest[row.name] for row in system.states} | {one.symbol: 0.0 for one in system.inputs}
    for one in system.definitions:
        known[one.symbol] = float(one.expr.subs(known))
        if one.symbol.name == "N_pin_pallet":
            return known[one.symbol]
    raise AssertionError("no load on the pallet's pin")


# -- bending ---------------------------------------------------------------------------------------------
def test_the_board_bends_between_hinge_and_pull_down(make_train):
    bending = 1.1 * SPRUCE.e * (ACROSS + 2 * OVER) * THICK**3 / 12
    shearing = SPRUCE.g * (ACROSS + 2 * OVER) * THICK * 5 / 6
    for eye in (0.110, 0.200, WHOLE):
        found = pallet(make_train, bending=True, eye=eye)["give_in"]
        assert found == pytest.approx(pulled_board(WHOLE, eye, bending, shearing), rel=1e-4)
    assert "give_in" not in pallet(make_train)
    assert "give_in" not in pallet(make_train, bending=True, thickness=None, mass="50 g")
