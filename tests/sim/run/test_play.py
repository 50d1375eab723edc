"""What is played on a note and what is kept of it."""

from dataclasses import replace

import numpy as np
import pytest

from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.play import press_note
from keyaction.sim.motion.strokes import standard_stroke
from keyaction.sim.run.assemble import ACCOUNTS
from keyaction.sim.run.note import SAMPLES, TIME_STEP, play_note, slow_curves


@pytest.fixture(scope="module")
def kept(short_model, short_case):
    return play_note(60, short_model.train, short_case.strokes)


def test_the_slow_press_reaches_the_dip_force_and_goes_back(record):
    press, strokes = record.press, record.strokes
    assert press.down.balance.stiffness == strokes.press_stiffness
    assert press.down.force[-1] == pytest.approx(strokes.dip_force, rel=1e-6)
    assert press.up.force[0] == pytest.approx(strokes.dip_force, rel=1e-6)
    assert press.up.travel[-1] == pytest.approx(0.0, abs=5e-5)


def test_the_standard_stroke_is_the_case_s(short_model, short_case):
    drive, strokes = standard_stroke(short_model, short_case.strokes), short_case.strokes
    assert drive.mark("bottom") == strokes.down
    assert drive.mark("lift") == pytest.approx(strokes.down + strokes.hold)
    assert drive.mark("top") == pytest.approx(strokes.down + strokes.hold + strokes.up)
    assert drive.pieces[1].way_at(drive.mark("bottom")) == pytest.approx(1.15 * 0.0095)
    assert drive.stiffness == strokes.finger == 3000.0


def test_everything_is_kept(kept, short_case):
    assert kept.ok and kept.status == "ok"
    assert set(kept.quantities) == set(QUANTITIES)
    assert [name for name, *_ in kept.played] == [
        "standard stroke",
        *(f"press at {speed * 1e3:g} mm/s" for speed in short_case.strokes.speeds),
    ]
    for _, method, evaluations, audit in kept.played:
        assert method == "LSODA"
        assert evaluations > 100
        accounts = dict(zip(ACCOUNTS, audit, strict=True))
        assert accounts["residual"] == pytest.approx(
            accounts["finger"] + accounts["wind"] - accounts["friction"] - accounts["damping"] - accounts["stored"]
        )
    assert [body.title for body in kept.bodies] == ["key", "pallet"]
    assert kept.ratios == pytest.approx([1 / 0.4, 0.625 / 0.165], rel=1e-3)
    (wind,) = (figure for figure in kept.parameters if figure.what == "p_box")
    assert (wind.title, wind.part, wind.role) == ("p_box", "box", "box")
    assert (wind.value, wind.unit, wind.origin) == (pytest.approx(70 * 9.80665), "Pa", "case")


def test_a_stroke_whose_time_is_no_whole_number_of_samples_is_kept(short_model, short_case):
    """Its last sample lies before the end of what the finger does: 0.05198 s are 259.9 samples."""
    for odd in (0.05198, 0.05193, 0.0521):
        kept = play_note(60, short_model.train, replace(short_case.strokes, down=odd))
        assert kept.status == "ok"
        end = standard_stroke(short_model, replace(short_case.strokes, down=odd)).end
        assert -1e-12 <= end - kept.curves["time"][-1] < TIME_STEP


def test_the_kept_stroke_is_the_played_one_on_an_even_grid(kept, short_model, short_case):
    motion = short_model.play(standard_stroke(short_model, short_case.strokes))
    t = kept.curves["time"]
    assert np.diff(t) == pytest.approx(np.full(len(t) - 1, TIME_STEP))
    assert t[-1] == pytest.approx(motion.drive.end)
    for name in ("key_force", "groove_pressure"):
        assert kept.curves[name] == pytest.approx(np.interp(t, motion.t, motion[name]))
    for name in ("key_travel", "motion", "pallet_lift", "finger_travel"):
        assert kept.curves[name][..., 0] == pytest.approx(0.0, abs=1e-12), name
    ways = [next(p for p in motion.drive.pieces if x <= p.end + 1e-12).way_at(x) for x in t]
    assert kept.curves["finger_travel"] == pytest.approx(np.array(ways) - ways[0], abs=1e-12)


def test_feel_curves_go_from_rest_to_the_dip_force_and_back(kept):
    for name in ("feel_down_travel", "feel_down_force", "feel_up_travel", "feel_up_force"):
        assert kept.curves[name].shape == (SAMPLES,)
    assert kept.curves["feel_speed_force"].shape == (3, SAMPLES)
    assert kept.curves["feel_down_travel"][0] == pytest.approx(0.0, abs=1e-7)
    assert np.max(kept.curves["feel_down_travel"]) == pytest.approx(kept.quantities["key_dip"], rel=1e-9)
    assert kept.curves["feel_up_travel"][0] == pytest.approx(kept.quantities["key_dip"], rel=1e-9)
    # Every equilibrium is among the samples: the highest force is that of the figure.
    plucked = kept.curves["feel_down_travel"] < kept.quantities["pluck_point"] + 1e-3
    assert np.max(kept.curves["feel_down_force"][plucked]) == pytest.approx(kept.quantities["pluck_force"], rel=1e-9)
    assert kept.curves["feel_up_travel"][-1] == pytest.approx(0.0, abs=1e-4)


def test_a_feel_curve_goes_straight_where_a_soft_finger_s_pallet_snaps(short_model, short_case):
    # A finger that only goes on never meets the equilibria between: the key never comes back towards it.
    note = press_note(short_model, replace(short_case.strokes, press_stiffness=600.0))
    (snap,) = note.press.down.snaps
    assert snap.force - snap.force_after > 0.05
    curves = slow_curves(note)
    travel, force = curves["feel_down_travel"], curves["feel_down_force"]
    assert len(travel) == SAMPLES
    finger = travel + force / 600.0
    assert np.all(np.diff(finger) > -1e-9)
    i = int(np.argmin(np.abs(travel - snap.travel)))
    assert force[i] == pytest.approx(snap.force, rel=1e-9)
    assert force[i + 1] == pytest.approx(snap.force_after, rel=1e-6)
