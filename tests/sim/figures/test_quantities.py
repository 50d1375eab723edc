"""Every figure on motions made by hand, with known answers; and what holds between the figures of a real note."""

import math
from dataclasses import replace

import numpy as np
import pytest
from fakes import (
    BOX,
    DIP,
    END,
    FOLLOW,
    FRICTION,
    GAP_AT,
    LIFT,
    PLUCK,
    SLACK,
    STEP,
    HandPress,
    Way,
    force_back,
    hand_made,
    slow_columns,
)

from keyaction.models.units.quantity import parse_quantity
from keyaction.sim.figures import quantities
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.quantities import mass_budget
from keyaction.sim.motion import drives

RECORD = hand_made()
NEVER = {"seat_gap": lambda way: np.full_like(way, -1e-4)}

KNOWN = {
    "key_dip": (END, 1e-12),
    # The rod carries 10 mN more than its 50 mN at rest after 10 mN / 900 N/m.
    "lost_motion": (SLACK + 0.010 / 900.0, 1e-12),
    "pluck_point": (GAP_AT, 1e-12),
    "pluck_force": (PLUCK, 1e-12),
    "follow_through_force": (FOLLOW, 1e-9),
    "pluck_ratio": (PLUCK / FOLLOW, 1e-12),
    "friction_at_key": (FRICTION, 1e-9),
    # 0.4 J/m and 3 J/m^2 to the pluck, less the finger's own pad of 20 kN/m.
    "stored_energy": (
        0.4 * GAP_AT + 3.0 * GAP_AT**2 - 1e4 * ((1e-4 + 0.01 * GAP_AT) ** 2 - 1e-8),
        1e-8,
    ),
    "opening_time": (0.010 - 0.002, 1e-9),
    "speech_delay": (0.014 - 0.002, 1e-9),
    # The finger lifts at 190 ms; 10 % is left 4.5 ms after 200 ms.
    "release_delay": (0.0145, 1e-9),
    "steady_lift": (LIFT, 1e-9),
    # The stroke begins with the seat squeezed by 0.1 mm at the eye: what is above it counts.
    "overshoot": ((0.0075 - 1e-4) / LIFT, 1e-6),
    "bounce": (1.0, 0.0),
    # Nothing blows again: the highest is the 10 % from which on the groove is silent.
    "speech_after_release": (0.1, 1e-12),
    "peak_force": (3.0, 1e-9),
    "pallet_speed": (1.0, 1e-9),
    # From 3 mm to one side, where it lies on its comb, to 3 mm to the other; there it comes to the other comb, and back
    # to the first: 4 mm in 10 ms both times.
    "side_way": (6e-3, 1e-12),
    "slaps": (2.0, 0.0),
    "slap_speed": (0.4, 1e-9),
    "groove_share": (0.97, 1e-12),
    "repetition_rate": (11.3, 0.0),
    "effective_mass": (0.05, 1e-15),
    "closing_force": (1.1, 0.0),
    "wave_time": (5e-4, 1e-15),
    "train_frequency": (25.0, 0.0),
}


@pytest.mark.parametrize("name", [name for name in QUANTITIES if name != "loop_work"])
def test_a_figure_by_hand(name):
    known, within = KNOWN[name]
    assert QUANTITIES[name].compute(RECORD) == pytest.approx(known, abs=within)


def test_the_work_lost_is_the_area_between_down_and_up():
    # The pluck's triangle above FOLLOW, the missing force before it, and friction both ways over the whole way.
    corner = SLACK + (FOLLOW - 0.2) / (PLUCK - 0.2) * (GAP_AT - SLACK)
    hump = (PLUCK - FOLLOW) * (GAP_AT + 5e-4 - corner) / 2
    assert QUANTITIES["loop_work"].compute(RECORD) == pytest.approx(hump + 2 * FRICTION * END, rel=1e-5)


def test_the_pluck_force_is_sought_to_one_millimetre_past_the_pluck():
    def hump(past):
        return {"key_force": lambda way: 1.0 + np.maximum(0.0, 1.0 - ((way - GAP_AT - past) / 5e-5) ** 2)}

    assert quantities.pluck_force(hand_made(hump(0.9e-3))) == pytest.approx(2.0, abs=5e-3)
    assert quantities.pluck_force(hand_made(hump(1.1e-3))) == pytest.approx(1.0)
    # Nor on the bottom felt, where the force rises by itself.
    late = {"seat_gap": lambda way: way - (DIP - 0.5e-3)}
    assert quantities.pluck_force(hand_made(late)) == pytest.approx(PLUCK)


def late(way):
    return 2.0 + 500.0 * np.maximum(0.0, way - 0.0012)


def test_the_last_rod_to_be_taken_up_counts_as_lost_motion():
    for rods in (("wire", "late"), ("late", "wire")):
        record = hand_made({"force_late": late}, rods=rods)
        assert quantities.lost_motion(record) == pytest.approx(0.0012 + 0.010 / 500.0, abs=1e-7)
    assert math.isnan(quantities.lost_motion(hand_made(rods=())))


def test_a_rod_that_knocks_and_lets_go_again_is_not_yet_taken_up():
    def knocking(way):
        return late(way) * (np.abs(way - 0.0016) > 2e-5)

    record = hand_made({"force_late": knocking}, rods=("wire", "late"))
    assert quantities.lost_motion(record) == pytest.approx(0.0016 + 2e-5, abs=2e-5)


@pytest.mark.parametrize("rods", [("wire", "late"), ("late", "wire")])
def test_a_rod_that_never_carries_takes_the_whole_way_to_the_pluck(rods):
    record = hand_made({"force_late": np.zeros_like}, rods=rods)
    assert quantities.lost_motion(record) == pytest.approx(GAP_AT, abs=1e-5)


def test_a_note_that_speaks_again_after_its_release():
    def again(t):
        return BOX * (np.clip(t / 0.010, 0.0, 1.0) - (t > 0.2) + 0.8 * (np.abs(t - 0.25) < 0.01))

    assert quantities.speech_after_release(hand_made(stroke={"groove_pressure": again})) == pytest.approx(0.8, rel=1e-9)


@pytest.mark.parametrize("held", [0.0, 0.04])
def test_a_groove_that_was_empty_when_the_finger_lifts_has_what_is_in_it(held):
    """No 10 %, to which it never fell."""
    record = hand_made(stroke={"groove_pressure": lambda t: np.full_like(t, held * BOX)})
    assert quantities.release_delay(record) == 0.0
    assert quantities.speech_after_release(record) == pytest.approx(held, abs=1e-12)


def test_a_ratio_to_no_force_is_none():
    nothing = {"key_force": lambda way: np.maximum(0.0, 1.0 - np.abs(way - GAP_AT) / 5e-4)}
    record = hand_made(nothing)
    assert quantities.follow_through_force(record) == 0.0
    assert math.isnan(quantities.pluck_ratio(record))


def test_friction_is_none_where_the_key_does_not_come_up():
    press = RECORD.press
    short = Way(-1, np.linspace(END, DIP - 1e-3, 500), slow_columns() | {"key_force": force_back})
    stuck = replace(RECORD, press=HandPress(press.down, short))
    stuck.__dict__["kinematics"] = RECORD.kinematics
    assert math.isnan(quantities.friction_at_key(stuck))


@pytest.mark.parametrize(
    "name",
    ["pluck_point", "pluck_force", "follow_through_force", "pluck_ratio", "friction_at_key", "stored_energy"],
)
def test_a_pallet_that_never_opens_has_no_pluck(name):
    assert math.isnan(QUANTITIES[name].compute(hand_made(NEVER)))


def test_what_a_note_does_not_have_is_nan_and_nothing_breaks():
    still = hand_made(
        NEVER | {"stretch_key-bottom": lambda t: np.full_like(t, -1e-3), "pallet_lift": np.zeros_like},
        {"seat_gap": lambda t: np.full_like(t, -1e-4), "groove_pressure": np.zeros_like},
        rods=(),
        waves=(),
        box={"p_box": 0.0},
    )
    found = {name: quantity.compute(still) for name, quantity in QUANTITIES.items()}
    without = (
        "lost_motion",
        "steady_lift",
        "overshoot",
        "pallet_speed",
        "groove_share",
        "wave_time",
        "speech_after_release",
    )
    for name in without:
        assert math.isnan(found[name]), name
    full = hand_made(stroke={"groove_pressure": lambda t: np.full_like(t, 0.4 * BOX)})
    assert math.isnan(quantities.opening_time(full))
    assert math.isnan(quantities.release_delay(full))


def test_a_groove_that_is_full_before_the_key_moves_counts_from_the_first_millimetre():
    assert quantities.opening_time(hand_made(stroke={"groove_pressure": lambda t: np.full_like(t, BOX)})) == (
        pytest.approx(0.0, abs=STEP)
    )


def test_bounces_are_counted_after_the_pallet_reseats():
    assert quantities.bounce(hand_made(stroke={"seat_gap": lambda t: np.full_like(t, 1e-3)})) is not None
    assert math.isnan(quantities.bounce(hand_made(stroke={"seat_gap": lambda t: np.full_like(t, 1e-3)})))

    def opens(count):
        def course(t):
            after = 2e-4 * (np.sin(2 * np.pi * 100.0 * (t - 0.25)) > 0) * (t > 0.25) * (t < 0.25 + 0.01 * count)
            return np.where(t < 0.24, 1e-3, -1e-5) + after

        return {"seat_gap": course}

    for count in range(4):
        assert quantities.bounce(hand_made(stroke=opens(count))) == count


# -- the registry ----------------------------------------------------------------------------------------
def test_every_figure_has_unit_label_and_definition():
    assert set(KNOWN) | {"loop_work"} == set(QUANTITIES)
    for name, quantity in QUANTITIES.items():
        assert quantity.name == name
        assert quantity.unit == "" or parse_quantity(f"1 {quantity.unit}", quantity.unit) == 1.0
        assert quantity.label and quantity.label[0].islower()
        assert quantity.definition.endswith(".") and len(quantity.definition) > 20
        assert "\n" not in quantity.definition and "  " not in quantity.definition
    labels = [quantity.label for quantity in QUANTITIES.values()]
    assert len(set(labels)) == len(labels)


# -- a real note -----------------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def found(record):
    return {name: quantity.compute(record) for name, quantity in QUANTITIES.items()}


def test_a_real_note_has_every_figure(found):
    assert all(isinstance(value, float) for value in found.values())
    aside = {name for name, one in QUANTITIES.items() if one.source == "sideways"}  # its rods are straight
    assert {name for name, value in found.items() if not math.isfinite(value)} == aside


def test_what_holds_between_the_figures_of_a_real_note(record, found):
    assert found["pluck_ratio"] == found["pluck_force"] / found["follow_through_force"]
    assert found["effective_mass"] == sum(mass_budget(record).values())
    assert 0 < found["lost_motion"] < found["pluck_point"] < found["key_dip"]
    assert found["pluck_force"] > found["follow_through_force"] > found["friction_at_key"] > 0
    assert 0 < found["opening_time"] < found["speech_delay"]
    assert found["overshoot"] >= 1.0
    assert 0.9 < found["groove_share"] < 1.0
    # What the finger does not get back is friction over the whole way, and some of what the pluck lets go.
    assert found["loop_work"] > 2 * found["friction_at_key"] * (found["key_dip"] - found["pluck_point"]) > 0
    assert found["stored_energy"] > 0
    # The finger's work on the way to the pluck is stored, or lost to friction, or done by the weights.
    assert found["stored_energy"] < found["pluck_force"] * found["pluck_point"]


def test_the_work_lost_is_what_a_press_tends_to_the_slower_it_is(record, found):
    # What a press in motion loses besides is the damping's, in proportion to its speed.
    finger = record.press.down.finger
    excess = []
    for speed in (0.008, 0.004):
        motion = record.model.play(drives.press(speed, finger[-1] - finger[0], 2e4, hold=0.3, ease=0.05))
        excess.append(np.trapezoid(motion["key_force"], motion["key_travel"]) - found["loop_work"])
    assert excess[1] / excess[0] == pytest.approx(0.5, abs=0.05)
    assert 2 * excess[1] - excess[0] == pytest.approx(0.0, abs=0.005 * found["loop_work"])


def test_the_dip_is_read_at_the_dip_force_beyond_the_felt(record, found):
    assert found["key_dip"] > record.model.train.parts[0].values.derived["dip"].value
    assert record.press.down.force[-1] == pytest.approx(record.strokes.dip_force, rel=1e-6)


def test_wave_time_is_length_over_sound_speed(record, found):
    lengths = {"riser": 0.6, "level-tracker": 1.8, "drop": 1.2}
    cedar = record.model.train.part("riser").values.library.get("western-redcedar")
    bronze = record.model.train.part("pull-down").values.library.get("phosphor-bronze")

    def time(length, material, along=1.0):
        return length * math.sqrt(material["density"].value / (along * material["E"].value))

    assert found["wave_time"] == pytest.approx(
        sum(time(length, cedar, 1.10) for length in lengths.values()) + time(0.25, bronze), rel=1e-9
    )
