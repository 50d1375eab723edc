"""The pallet and its wind against published rules of the trade and closed forms."""

import numpy as np
import pytest
from demo_train import demo
from motions import hands_off
from scipy.integrate import solve_ivp

from keyaction.sim.motion.note import NoteModel

GF = 9.80665e-3
LIGNE = 2.2558e-3  # m; a twelfth of the old French inch (from memory; it cancels in ratios)


def pallet(**fields):
    """The demo's train with another pallet, sealed at the opening's edge and hinged there."""
    edge = {"hinge_to_opening": 0.0, "sealing_margin": 0.0} | fields
    return demo(**{f"pallet.{name}": value for name, value in edge.items()}).part("pallet").values.derived


def at_eye(**fields):
    return pallet(**fields)["wind_at_eye"].value


def test_half_of_area_times_pressure():
    # H. Kooiker, Het ORGEL 100 (2004) no. 5, 5-9, English summary (read): the force at the valve in grams is half of
    # the opening's area (cm2) times the wind (cm of water), pulled at the free edge: 200 x 25 mm, 75 mm, 187.5 gf.
    found = pallet(opening_length="200 mm", opening_width="25 mm", eye="200 mm")
    assert found["wind_at_eye"].value / GF == pytest.approx(187.5, rel=1e-9)
    assert found["half_area_rule"].value / GF == pytest.approx(187.5, rel=1e-9)


def test_an_eye_nearer_the_hinge():
    # W. E. Dickson, Practical Organ-Building, 2nd ed. 1882, p. 22-24 (read): hinge 6 1/2 in (165 mm) behind the
    # front of the opening, eye 1 1/2 in (38 mm) from the end. Derived: the force there is 165/127 = 1.30 times.
    sizes = {"opening_length": "6.5 in", "opening_width": "20 mm"}
    assert at_eye(**sizes, eye="5 in") / at_eye(**sizes, eye="6.5 in") == pytest.approx(1.30, abs=0.005)


def test_a_bass_pallet_of_measured_pluck():
    # C. E. Pykett, "Touch relief in mechanical actions" (2001, rev. 2009) (read): a large pallet plucks at 335 gf at
    # 115 mm of water. By the half-area rule (derived) that is 58.3 cm2, a plausible bass pallet.
    force = demo(
        **{
            "box.pressure": "115 mmH2O",
            "pallet.opening_length": "200 mm",
            "pallet.opening_width": "29.13 mm",
            "pallet.hinge_to_opening": 0.0,
            "pallet.sealing_margin": 0.0,
            "pallet.eye": "200 mm",
        }
    )
    assert force.part("pallet").values.derived["wind_at_eye"].value / GF == pytest.approx(335.0, rel=1e-3)


def test_the_opening_is_a_little_more_than_the_groove():
    # Dom Bedos, L'Art du facteur d'orgues, 1766-78, art. 475 (second-hand, a web page): opening 390 against
    # a groove of 378 square lignes. Derived: 390 = h (L + w) with L 144, w 12 and h 2.5 lignes at the free edge:
    # two triangular sides and the front.
    length, width, lift = 144 * LIGNE, 12 * LIGNE, 2.5 * LIGNE
    gap = pallet(opening_length=length, opening_width=width, eye=length)["gap"].value
    opening = gap * (lift / length) / LIGNE**2
    assert opening == pytest.approx(390.0, rel=1e-9)
    assert 1.0 < opening / 378.0 < 1.05


def test_a_hinge_behind_the_opening_adds_a_slit_at_the_rear():
    # Geometry: front w (d0 + l), rear w d0, both side wedges (d0 + l)^2 - d0^2, per radian.
    gap = pallet(opening_length=0.2, opening_width=0.02, hinge_to_opening=0.03)["gap"].value
    assert gap == pytest.approx(0.02 * 0.23 + 0.02 * 0.03 + 0.23**2 - 0.03**2, rel=1e-12)


def test_where_the_leather_seals_is_a_third_of_the_force():
    # Derived in the trade: 325 x 20 mm at 75 mm of water is 244 gf; sealing over the full 27 mm of width 329 gf.
    narrow = at_eye(opening_length="325 mm", opening_width="20 mm", eye="325 mm")
    wide = at_eye(opening_length="325 mm", opening_width="27 mm", eye="325 mm")
    assert narrow / GF == pytest.approx(244, abs=0.5)
    assert wide / GF == pytest.approx(329, abs=0.5)
    margin = demo(
        **{
            "pallet.opening_length": "325 mm",
            "pallet.opening_width": "20 mm",
            "pallet.hinge_to_opening": "3.5 mm",
            "pallet.sealing_margin": "3.5 mm",
            "pallet.eye": "328.5 mm",
        }
    )
    # The margin moves the far edge outwards too: (332/328.5) of the length and its square in the moment.
    sealed = margin.part("pallet").values.derived["wind_at_eye"].value
    assert sealed == pytest.approx(wide * 332**2 / (325 * 328.5), rel=1e-9)


def filled(ratio):
    """Pressure in the groove, as a share of the box's, long after the pallet is held open at an opening of
    `ratio` times the toes (both with their flow coefficients): the groove's own equation, integrated."""
    model = NoteModel(demo(**{"groove.leak": 0.0, "groove.gap_flow": 0.6, "groove.feet_flow": 0.6}))
    kernel, p = model.kernel(), model.parameters()
    known = dict(zip(kernel.spellings, p, strict=True))
    # The opening in series with the slot below it: sizes such that the pair passes `ratio` x toes.
    toes = known["A_out_groove"] / 0.6
    wanted, slot = ratio * toes, known["A_slot_pallet"]
    gap = wanted * slot / np.sqrt(slot**2 - wanted**2)
    y = np.zeros(len(kernel.states))
    y[kernel.states.index("q_pallet")] = known["q_open_pallet"] + gap / known["gap_pallet"]
    groove, d = kernel.states.index("p_groove"), hands_off(1.0).vector(hands_off(1.0).pieces[0])

    def rate(t, pressure):
        state = y.copy()
        state[groove] = pressure[0]
        return [kernel.rates(t, state, p, d)[groove]]

    path = solve_ivp(rate, (0.0, 2.0), [0.0], method="LSODA", rtol=1e-9, atol=1e-6)
    pressures = path.y[0] / known["p_box"]
    assert abs(pressures[-1] - pressures[-2]) < 1e-6
    assert np.all(np.diff(pressures) > -1e-6)
    return pressures[-1]


@pytest.mark.parametrize(("ratio", "left"), [(0.25, 94), (0.5, 80), (1, 50), (2, 20), (3, 10), (7, 2)])
def test_what_is_left_on_the_pallet(ratio, left):
    # Derived (two orifices in line, textbook): 1/(1 + r^2) of the pressure is left on the pallet, r being its opening
    # over the toes drawn; the table is that formula to two digits.
    share = 1 - filled(ratio)
    assert share * 100 == pytest.approx(left, abs=0.5)
    # The flow's rounding at zero drop (1 Pa) costs a ten-thousandth.
    assert share == pytest.approx(1 / (1 + ratio**2), abs=2e-4)


def test_a_groove_fills_as_a_bottle_does():
    # Closed form, adiabatic: V/(1.4 p_atm) dp/dt = C_d A sqrt(2 (p_c - p)/rho), so the root of the drop falls evenly;
    # no toe drawn, the pallet held open at a given gap. Rounded off only in the last pascal.
    model = NoteModel(demo(**{"groove.leak": 0.0, "groove.feet_area": 0.0}))
    kernel, p = model.kernel(), model.parameters()
    volume, pressure, air, slot = 0.9 * 0.018 * 0.080, 75 * 9.80665, 1.1993, 0.220 * 0.017
    gap = 100e-6
    area = 0.61 * gap * slot / np.hypot(gap, slot)
    known = dict(zip(kernel.spellings, p, strict=True))
    y = np.zeros(len(kernel.states))
    y[kernel.states.index("q_pallet")] = known["q_open_pallet"] + gap / known["gap_pallet"]
    groove, d = kernel.states.index("p_groove"), hands_off(1.0).vector(hands_off(1.0).pieces[0])
    evenly = 1.4 * 101325.0 / volume * area / np.sqrt(2 * air)
    for filled_share in (0.2, 0.5, 0.9):
        time = np.sqrt(pressure) * (1 - np.sqrt(1 - filled_share)) / evenly

        def rate(t, now):
            state = y.copy()
            state[groove] = now[0]
            return [kernel.rates(t, state, p, d)[groove]]

        path = solve_ivp(rate, (0.0, time), [0.0], method="LSODA", rtol=1e-10, atol=1e-8)
        assert path.y[0, -1] / pressure == pytest.approx(filled_share, rel=2e-4)


def test_nine_tenths_need_three_times_the_toes():
    # Derived from the same law: the groove reaches 90 % only when the opening is 3 times the toe area drawn.
    assert filled(3.0) == pytest.approx(0.9, abs=5e-4)
    assert filled(2.9) < 0.9
