"""What becomes of a note, told before any motion; and that a motion in earnest does the same."""

import math
from dataclasses import replace

import numpy as np
import pytest

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.figures.columns import QUANTITIES, of_verdict
from keyaction.sim.figures.limits import FULL
from keyaction.sim.figures.play import NotPlayed, play_record, press_note
from keyaction.sim.figures.verdict import FATES, Fate, Standing, Verdict, alike, fates, plain, verdict
from keyaction.sim.lanes.evaluate import evaluate
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.motion.strokes import standard_stroke
from keyaction.sim.run.note import play_note
from keyaction.sim.weighing.weighoff import weigh

STROKES = read_case("demo-wood").strokes
FEW_RATES = replace(STROKES, repetition_highest=2.0)
STUCK = {"roller.pin.breakaway": "40 N*mm"}
WEAK = {"pallet-spring.force": "0.05 N"}
DRAWN_DOWN = {"level-tracker.moves": "down", "level-tracker.mass": "300 g"}


def demo(note="C4", **changes):
    return train_of(read_case("demo-wood", set_=changes), note)


def pressed(changes, note="C4"):
    return press_note(NoteModel(demo(note, **changes)), STROKES)


def test_the_demo_speaks_and_falls_silent():
    told = verdict(pressed({}))
    assert told == Verdict(Fate.SPEAKS) and told.sound
    assert str(told) == "speaks and falls silent"


def test_a_note_that_hangs_names_what_holds_it():
    told = verdict(pressed(STUCK))
    assert told.fate is Fate.HANGS and "held by the friction of roller" in told.reason


def test_what_holds_it_by_hand():
    # Two pins of 40 N mm in a roller of 60 mm arms, at the key by 150 : 230.
    note = pressed(STUCK)
    up = note.press.up
    bodies = [up.balance.kernel.bodies[owner].part for owner in up.balance.owner]
    held = sum(
        force for part, force in zip(bodies, up.balance.friction(up.states[-1]), strict=True) if part == "roller"
    )
    load = note.model.train.part("roller").values.derived
    assert held == pytest.approx(2 * 0.040 / 0.060 * 150 / 230, rel=0.03)
    assert held > 2 * load["tau0_in"].value / 0.060 * 150 / 230  # the pins rub under their load besides


@pytest.mark.parametrize("changes", [STUCK, {}], ids=["stuck", "free"])
def test_a_motion_does_the_same(changes):
    model = NoteModel(demo(**changes))
    motion = model.play(standard_stroke(model, STROKES))
    left_open = motion["seat_gap"][-1] > 0
    assert left_open == (verdict(pressed(changes)).fate is Fate.HANGS)


def test_a_spring_that_does_not_carry_its_pallet():
    with pytest.raises(NotPlayed, match="once open, the pallet opens further by itself") as refused:
        pressed(WEAK)
    assert refused.value.verdict.fate is Fate.HANGS
    assert play_note(60, demo(**WEAK), STROKES).verdict.fate is Fate.HANGS


def test_a_run_too_long_never_reaches_the_pallet():
    note = pressed({"drop.lost_motion": "8 mm"})
    told = verdict(note)
    assert told.fate is Fate.MUTE and "short" in told.reason
    figures = {name: one.compute(note) for name, one in QUANTITIES.items() if one.source == "slow press"}
    for name in ("pluck_point", "pluck_force", "follow_through_force", "pluck_ratio", "friction_at_key", "steady_lift"):
        assert math.isnan(figures[name]), name


def test_a_groove_starved_by_its_stops():
    for toes, fate in (("1000 mm^2", Fate.WEAK), ("3000 mm^2", Fate.MUTE)):
        note = pressed({"groove.feet_area": toes})
        told = verdict(note)
        assert told.fate is fate
        # Gap and slot in series, then the feet: a^2 / (1 + a^2).
        d = {**note.model.train.role("pallet").values.derived, **note.model.train.role("groove").values.derived}
        turn = note.press.down["q_pallet"][-1] - d["q_open"].value
        gap, slot = turn * d["gap"].value, d["A_slot"].value
        ratio = d["Cd_gap"].value * gap * slot / math.hypot(gap, slot) / d["A_out"].value if "Cd_gap" in d else None
        share = QUANTITIES["groove_share"].compute(note)
        assert share < FULL and f"{100 * share:.0f} %" in told.reason
        if ratio:
            assert share == pytest.approx(ratio**2 / (1 + ratio**2), rel=0.02)


def test_without_wind_nothing_sounds_and_the_touch_is_the_spring_s():
    note = pressed({"box.pressure": "0 Pa"})
    assert verdict(note).fate is Fate.NO_WIND
    result = play_note(60, demo(**{"box.pressure": "0 Pa"}), FEW_RATES)
    for name in ("opening_time", "speech_delay", "release_delay", "speech_after_release", "repetition_rate",
                 "groove_share"):  # fmt: skip
        assert math.isnan(result.quantities[name]), name
    assert result.quantities["pluck_ratio"] == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize("volume", ["0.2 m^3", "1e-5 m^3"])
def test_a_groove_of_any_size_leaves_the_friction_alone(volume):
    # Friction is that of equilibria: however long the groove takes to fill, no wind gets into it.
    note, usual = pressed({"groove.volume": volume}), pressed({})
    for name in ("friction_at_key", "pluck_force", "follow_through_force", "loop_work"):
        assert QUANTITIES[name].compute(note) == pytest.approx(QUANTITIES[name].compute(usual), rel=1e-6), name


def test_where_there_is_no_rate_nothing_limits_it():
    loose = {"drop.lost_motion": "9 mm"}
    assert play_note(60, demo(**loose), FEW_RATES).limit == ""
    found = evaluate([demo(**loose)], FEW_RATES, sample=0)
    assert (found.verdicts[0].fate, found.limits) == (Fate.MUTE, ("",))


def test_no_stop_drawn_is_said():
    told = verdict(pressed({"groove.feet_area": "0 mm^2"}))
    assert told.fate is Fate.SPEAKS and told.reason == "no stop is drawn, so no pipe sounds"


def test_a_pallet_held_open_at_rest_is_a_cipher_and_by_how_much():
    # A key so heavy in front that its own weight holds the pallet open.
    heavy = {"key.leads.0.at": "200 mm", "key.leads.0.mass": "600 g"}
    note = pressed(heavy)
    told = verdict(note)
    assert told.fate is Fate.CIPHER
    gap = float(note.press.down["seat_gap"][0])
    assert gap > 1e-3 and f"{gap * 1e3:.3g} mm open" in told.reason


@pytest.mark.parametrize("stops", [0, 1, 2, 3, 4])
def test_the_pluck_is_the_same_whatever_is_drawn(stops):
    drawn = {f"groove.stops.{i}.drawn": i < stops for i in range(4)}
    note, whole = pressed(drawn), pressed({})
    for name in ("pluck_point", "pluck_force", "lost_motion", "stored_energy"):
        assert QUANTITIES[name].compute(note) == pytest.approx(QUANTITIES[name].compute(whole), rel=1e-5), name


@pytest.mark.parametrize("area", [0.0, 5e-6, 1e-5, 4e-5, 2e-4])
def test_follow_through_lies_between_none_and_all_of_the_wind(area):
    # Once open, wind holds the pallet by what the groove lacks: less drawn, lighter, down to the spring alone.
    found = QUANTITIES["follow_through_force"].compute(pressed({"groove.feet_area": f"{area * 1e6:g} mm^2"}))
    alone = QUANTITIES["follow_through_force"].compute(pressed({"box.pressure": "0 Pa"}))
    more = QUANTITIES["follow_through_force"].compute(pressed({"groove.feet_area": f"{area * 1e6 + 50:g} mm^2"}))
    assert alone - 2e-3 < found < more


FALLS = [("C4", f"{force} N") for force in (0.25, 0.275, 0.3, 0.33, 0.365, 0.38, 0.42)]
FALLS += [("C3", "0.35 N"), ("C3", "0.42 N"), ("G6", "0.15 N"), ("G6", "0.25 N")]


@pytest.mark.parametrize(("note", "force"), FALLS)
def test_a_pallet_that_falls_open_under_a_weak_spring_hangs(note, force):
    told = verdict(pressed({"pallet-spring.force": force}, note))
    assert told.fate is Fate.HANGS, told


@pytest.mark.parametrize("breakaway", [37.95, 38.0, 38.2, 39.5, 43.0, 60.0, 80.0])
def test_a_roller_that_holds_a_little_more_than_the_spring_gives_hangs(breakaway):
    # The spring of C2 moves a roller of a little more than 37.9 N mm; what it leaves standing, friction holds.
    told = verdict(pressed({"roller.pin.breakaway": f"{breakaway} N*mm"}, "C2"))
    assert (told.fate, "friction of roller" in told.reason) == (Fate.HANGS, True)
    assert verdict(pressed({"roller.pin.breakaway": "37.9 N*mm"}, "C2")).fate is Fate.SPEAKS


def test_a_tight_rod_leaves_the_follow_through_where_it_is():
    # It takes from the pluck alone: what is left to hold once the pallet is open stays as it was.
    follow = QUANTITIES["follow_through_force"].compute(pressed({}))
    for mm in (0.5, 1.0, 1.2, 1.3):
        found = QUANTITIES["follow_through_force"].compute(pressed({"drop.lost_motion": f"-{mm} mm"}))
        assert found == pytest.approx(follow, rel=0.05)


def test_a_rod_ever_tighter_is_never_called_sound_where_the_pallet_does_not_shut():
    # By hand it leaves its seat at 1.305 mm and the groove holds 10 % of the wind at 1.3645 mm.
    told = {mm: verdict(pressed({"drop.lost_motion": f"-{mm} mm"})) for mm in (1.2, 1.29, 1.31, 1.34, 1.36, 1.37, 1.8)}
    assert [one.fate for one in told.values()] == [Fate.SPEAKS] * 4 + [Fate.HANGS, Fate.CIPHER, Fate.CIPHER]
    assert [bool(one.reason) for one in told.values()] == [False] + [True] * 6
    assert "does not shut" in told[1.31].reason and "drawn up by drop" in told[1.8].reason


def test_notes_of_different_causes_have_lines_of_their_own():
    told = {
        name: str(verdict(pressed(changes)))
        for name, changes in (
            ("A", {"drop.lost_motion": "-1.8 mm"}),
            ("B", {"pallet.seat_leak": "100 mm^2"}),
            ("C", {"drop.lost_motion": "-1.7 mm"}),
            ("D", {}),
        )
    }
    tight, leak = alike(told)
    assert tight.startswith("A, C: sounds unplayed") and "too tight" in tight
    assert leak.startswith("B: sounds unplayed (a cipher) (wind leaks past the shut pallet")


def test_a_stroke_that_leaves_the_range_keeps_the_verdict_of_the_press():
    with pytest.raises(NotPlayed, match="a stop of the pallet catches it") as problem:
        play_record(NoteModel(demo(**{"pallet-spring.force": "0.45 N"})), STROKES)
    assert problem.value.verdict.fate is Fate.SPEAKS


def test_figures_that_a_verdict_leaves_out():
    figures = dict.fromkeys(QUANTITIES, 1.0)
    for fate, name, there in (
        (Fate.SPEAKS, "repetition_rate", True),
        (Fate.HANGS, "release_delay", False),
        (Fate.HANGS, "speech_delay", True),
        (Fate.MUTE, "speech_delay", False),
        (Fate.CIPHER, "opening_time", False),
        (Fate.WEAK, "repetition_rate", False),
    ):
        assert math.isfinite(of_verdict(figures, Verdict(fate))[name]) is there, (fate, name)


def test_many_designs_have_the_same_verdicts():
    changes = ({}, STUCK, {"drop.lost_motion": "8 mm"}, {"box.pressure": "0 Pa"}, WEAK)
    found = evaluate([demo(**one) for one in changes], STROKES, ["pluck_force", "repetition_rate"], sample=0)
    fates = [told.fate for told in found.verdicts]
    assert fates == [Fate.SPEAKS, Fate.HANGS, Fate.MUTE, Fate.NO_WIND, Fate.HANGS]
    assert np.isfinite(found.quantities["repetition_rate"]).tolist() == [True, False, False, False, False]


def test_like_notes_share_a_line():
    told = {"C4": "hangs: by 1.5 gf", "D4": "speaks and falls silent", "E4": "hangs: by 2 gf", "F4": "no wind"}
    told["G4"] = "hangs: the spring does not close it"
    assert alike(told) == ["C4, E4: hangs (C4: by 1.5 gf)", "F4: no wind", "G4: hangs (the spring does not close it)"]
    assert alike({"C4": "speaks and falls silent"}) == []


def test_a_rod_that_outweighs_spring_and_wind_opens_the_pallet_unplayed():
    """Its 300 g pull at the pallet's eye with more than the spring closes it with, wind on."""
    with pytest.raises(NotPlayed, match="the pallet falls open by itself: lower-square turns by") as failed:
        pressed(DRAWN_DOWN)
    assert failed.value.verdict.fate is Fate.CIPHER
    assert "pulls it open" in failed.value.verdict.reason
    (weighed,) = weigh(read_case("demo-wood", set_=DRAWN_DOWN), [60])
    assert weighed.verdict == failed.value.verdict and weighed.failed == str(weighed.verdict)


def test_where_one_fate_ends_and_the_next_begins():
    usual = {"rest_gap": -1e-4, "rest_pressure": 0.0, "widest_gap": 5e-3, "dip": 0.01, "held_pressure": 600.0,
             "left_gap": -1e-4, "left_pressure": 0.0, "box_pressure": 600.0, "feet": 1e-3}  # fmt: skip
    sides = (
        ({}, Fate.SPEAKS),
        ({"dip": math.nan}, Fate.UNKNOWN),
        ({"box_pressure": 0.0}, Fate.NO_WIND),
        ({"rest_pressure": 59.0}, Fate.SPEAKS),
        ({"rest_pressure": 61.0}, Fate.CIPHER),
        ({"left_gap": 1e-4, "left_pressure": 59.0}, Fate.SPEAKS),
        ({"left_gap": 1e-4, "left_pressure": 61.0}, Fate.HANGS),
        ({"left_pressure": 61.0}, Fate.SPEAKS),
        ({"widest_gap": 0.0}, Fate.MUTE),
        ({"held_pressure": 541.0}, Fate.SPEAKS),
        ({"held_pressure": 539.0}, Fate.WEAK),
        ({"held_pressure": 301.0}, Fate.WEAK),
        ({"held_pressure": 299.0}, Fate.MUTE),
    )
    at = Standing(**{name: np.array([(usual | changed)[name] for changed, _ in sides]) for name in usual})
    found = fates(at)
    assert [FATES[one] for one in found] == [fate for _, fate in sides]
    for i, (_, fate) in enumerate(sides):
        assert FATES[fates(at.one(i))] is fate
    quite = [fate is Fate.SPEAKS and changed.get("left_gap", 0.0) <= 0.0 for changed, fate in sides]
    assert plain(at, found).tolist() == quite
