"""What sounds unplayed: rods drawn up too tight, and wind past the shut pallet. At rest, by hand, in both engines."""

import numpy as np
import pytest
from demo_train import BENDING, FRICTIONLESS
from spellings import figures
from tightness import tightness

from keyaction.sim.lanes.batch import Batch
from keyaction.sim.motion import drives

BOX = 75 * 9.80665
IDLE = drives.force(0.0, 0.01, 0.01, 0.01)
# All rods level and the key without weight: nothing loads the train but what is drawn up.
WEIGHTLESS = {f"{rod}.moves": "level" for rod in ("t1", "t3", "pd")} | {"key.balance_moment": 0.0}


def resting(model):
    """Recorded quantities at rest, and that it stays so."""
    motion = model.play(IDLE)
    assert motion.status.ok
    first, last = ({name: motion[name][i] for name in motion.kernel.observables} for i in (0, -1))
    for name in ("seat_gap", "key_travel"):
        assert last[name] == pytest.approx(first[name], abs=1e-7)
    return first


# -- leaks -----------------------------------------------------------------------------------------------
def share_of_the_wind(leak, feet, slot=0.220 * 0.017):
    """Two openings one behind the other: p / box = a^2 / (1 + a^2), a = flow area in over flow area out."""
    a = 0.61 * leak * slot / np.hypot(leak, slot) / (0.6 * feet)
    return a**2 / (1 + a**2)


@pytest.mark.parametrize("leak", [40e-6, 80e-6, 150e-6, 400e-6])
def test_a_leak_fills_the_groove_at_rest(make_model, leak):
    found = resting(make_model(**{"pallet.seat_leak": leak}))
    # Below 1 Pa flow creeps; these pressures are far above that.
    assert found["groove_pressure"] / BOX == pytest.approx(share_of_the_wind(leak, 152e-6), rel=2e-3)
    assert found["seat_gap"] < 0.0


def test_a_tight_seat_keeps_the_groove_empty(make_model):
    # Rest is found to 1e-4 Pa (keyaction.sim.motion.rest); what is left is a processor's rounding, some nPa.
    assert resting(make_model())["groove_pressure"] == pytest.approx(0.0, abs=1e-9 * BOX)


def test_a_large_groove_is_full_at_rest_all_the_same(make_model):
    # 20 L past 3 mm2 with one small toe: seconds to fill, and the rest is what it is when that is done.
    model = make_model(
        **{"pallet.seat_leak": 3e-6, "groove.volume": 0.02, "groove.feet_area": 1e-6, "groove.leak": 0.0}
    )
    assert resting(model)["groove_pressure"] / BOX == pytest.approx(share_of_the_wind(3e-6, 1e-6), rel=2e-3)


def test_the_groove_s_pressure_lightens_the_seat(make_model):
    # Spring, and the wind that is left, less the board's weight: carried by the seat; the wire's half hangs on the eye.
    model = make_model(**{"pallet.seat_leak": 200e-6}, **FRICTIONLESS)
    found, p = resting(model), {name: item.value for name, item in figures(model.train).items()}
    wind = (BOX - found["groove_pressure"]) * p["S_wind_pallet"]
    wire = p["m_pd"] / 2 * 9.80665 * 0.200
    by_hand = p["M0_spring"] + wind - p["B_pallet"] - wire
    turned = found["stretch_spring"] * p["k_spring"]
    pulled = found["force_pd"] * 0.200
    assert found["force_pallet-seat"] * p["r_seat_pallet"] == pytest.approx(by_hand + turned - pulled, rel=1e-4)


# -- rods too tight --------------------------------------------------------------------------------------
def takes_up(p, pull):
    """Way (m) at the eye that the train takes up under `pull` (N) there: rods, twist, rest felt and seat, by hand.

    Every lever of the demo train beyond the key is one to one.
    """
    closing = p["M0_spring"] + BOX * p["S_wind_pallet"] - p["B_pallet"]
    left = max((closing - pull * 0.200) / (p["r_seat_pallet"] * p["K_seat_pallet"]), 0.0) ** (2 / 3)
    seat = (p["x0_seat_pallet"] - left) / p["r_seat_pallet"] * 0.200
    rods = sum(pull / p[f"k_{rod}"] for rod in ("t1", "t2", "t3", "pd"))
    twist = pull * 0.060**2 / p["K_roller"]
    felt = (pull * 0.150 / 0.230 / p["K_rest_key"]) ** (2 / 3) * 0.150 / 0.230
    return seat + rods + twist + felt


@pytest.mark.parametrize("share", [0.3, 0.7, 0.95])
def test_a_rod_too_tight_pulls_at_rest(make_model, share):
    p = {name: item.value for name, item in figures(make_model(**WEIGHTLESS).train).items()}
    pull = share * (p["M0_spring"] + BOX * p["S_wind_pallet"] - p["B_pallet"]) / 0.200
    found = resting(make_model(**WEIGHTLESS, **{"t3.lost_motion": -takes_up(p, pull)}))
    # The spring's rise over the seat's squeeze is left out by hand, and arms are taken square.
    for rod in ("t1", "t2", "t3", "pd"):
        assert found[f"force_{rod}"] == pytest.approx(pull, rel=5e-3)
    assert found["seat_gap"] < 0.0
    assert found["key_travel"] < 0.0  # the key is drawn up into its rest felt
    assert found["groove_pressure"] == pytest.approx(0.0, abs=1e-6)


def test_the_pallet_leaves_its_seat_when_the_tightness_is_more_than_the_train_takes(make_model):
    p = {name: item.value for name, item in figures(make_model(**WEIGHTLESS).train).items()}
    most = takes_up(p, (p["M0_spring"] + BOX * p["S_wind_pallet"] - p["B_pallet"]) / 0.200)
    shut, cipher = (resting(make_model(**WEIGHTLESS, **{"t3.lost_motion": -share * most})) for share in (0.98, 1.10))
    assert shut["seat_gap"] < 0.0 < cipher["seat_gap"]
    assert shut["groove_pressure"] == pytest.approx(0.0, abs=1e-3)
    assert cipher["groove_pressure"] > 0.01 * BOX


@pytest.mark.parametrize("change", [{}, {"key.balance_moment": "-20 N*mm"}, {"t2.pieces": 3}, BENDING], ids=str)
def test_what_check_says_of_it(make_model, change):
    # Said before anything is played, by levers alone; and so it is when the train comes to rest, within 4 %.
    change = {**WEIGHTLESS, **change}
    most = tightness(make_model(**change, **{"t3.lost_motion": -1e-5}).train).taken
    for share in (0.96, 1.04):
        model = make_model(**change, **{"t3.lost_motion": -share * most})
        found = tightness(model.train)
        assert (found.drawn, found.taken) == pytest.approx((share * most, most), rel=1e-9)
        assert found.unseats == (share > 1) == (resting(model)["seat_gap"] > 0)
    assert tightness(make_model(**change).train) is None


def test_play_elsewhere_is_taken_up_first(make_model):
    train = make_model(**{"t3.lost_motion": "-2 mm", "t1.lost_motion": "0.5 mm"}).train
    assert tightness(train).drawn == pytest.approx(0.0015, rel=1e-9)


def test_what_was_shortened_shows_somewhere(make_model):
    # Geometry alone: tightness is shared out over the stretches, the shaft's twist, and the turns of key and pallet.
    found = resting(make_model(**{"t3.lost_motion": "-2 mm"}))
    gave = sum(found[f"stretch_{rod}"] for rod in ("t1", "t2", "t3", "pd")) + 0.060 * found["stretch_roller-twist"]
    key, eye = -found["key_travel"] * 150 / 230, found["pallet_lift"]
    assert gave + key + eye == pytest.approx(0.002, rel=2e-3)


def test_a_tight_rod_has_no_lost_motion_and_stores_its_pull(make_model):
    tight = make_model(**{"t3.lost_motion": "-0.5 mm"})
    motion = tight.play(drives.stroke(0.04, 0.15, 0.04, 1.15 * 0.0095))
    assert abs(motion.audit.residual) < 1e-4 * motion.audit.throughput
    assert motion["force_t3"][0] > 0.5


@pytest.mark.parametrize(
    "change",
    [{"t3.lost_motion": "-0.4 mm"}, {"t3.lost_motion": "-2 mm"}, {"pallet.seat_leak": 60e-6}],
    ids=["tight", "off its seat", "leaking"],
)
def test_lanes_rest_where_scipy_does(make_model, change):
    model = make_model(**change)
    rest, kernel = Batch.of([model.train] * 2).rest(), model.kernel()
    ways, pressures = kernel.of_kind("coordinate"), kernel.of_kind("pressure")
    assert np.all(rest.settled)
    np.testing.assert_allclose(rest.states[0][ways], model.rest()[ways], atol=1e-7)
    np.testing.assert_allclose(rest.states[0][pressures], model.rest()[pressures], atol=0.05)
