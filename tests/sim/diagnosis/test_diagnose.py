"""Faults planted in notes of an action, read with errors, and found again; sheets with holes and with nothing wrong."""

from dataclasses import replace

import numpy as np
import pytest

import keyaction as ka
from keyaction.cases.action.trains import check_trains
from keyaction.models.readings.figures import NAMES
from keyaction.models.readings.readings import Head, Readings
from keyaction.sim.diagnosis.candidates import candidates
from keyaction.sim.diagnosis.diagnosis import answers_for, diagnose
from keyaction.sim.diagnosis.said import altered, sentences
from keyaction.sim.diagnosis.separate import alternatives
from keyaction.sim.measuring.computed import Computed, computed, drawn_levels
from keyaction.sim.measuring.knobs import KINDS, changed, one_of
from keyaction.sim.measuring.synthetic import read_off

NOTES = range(61, 66)
AT = 63
PLANTED = {
    "nut": ("nut", 1.0),
    "rubs": ("friction", 1.0),
    "oblique": ("oblique", 1.0),
    "spring": ("spring", -1.0),
    "rest felt": ("rest", 1.0),
    "bottom felt": ("bottom", 1.2),
    "seal": ("seal", 1.3),
    "leak": ("leak", 2.0),
}


@pytest.fixture(scope="module")
def action():
    """A sticker action: its case, levels, figures as drawn, and what is computed for all its sheets."""
    case = ka.read_case("cases/kinds/sticker-backfall.toml")
    trains = check_trains(case, list(NOTES))
    level = drawn_levels(list(trains.values()), case.strokes)
    plain = computed(list(trains.values()), case.strokes).from_level(level)
    return case, trains, level, plain, answers_for(trains, read_off(list(NOTES), plain, 0), case.strokes)


@pytest.fixture(scope="module")
def faulty(action):
    """Figures of the one note with each fault, and with two."""
    case, trains, level, _, _ = action
    train, place = trains[AT], list(NOTES).index(AT)
    ways = [[(one_of(train, kind), share * KINDS[kind].usual)] for kind, share in PLANTED.values()]
    both = [(one_of(train, "spring"), -0.35), (one_of(train, "nut"), 1.2e-3)]
    lead = [(one_of(train, "balance"), -KINDS["balance"].usual)]
    found = computed([changed(train, way) for way in [*ways, both, lead]], case.strokes).from_level(level[place])
    return dict(zip([*PLANTED, "both", "lead"], zip(found.values, found.verdicts, strict=True), strict=True))


@pytest.fixture(scope="module")
def planted(action, faulty):
    """Diagnoses of the sheets in which one note has each fault."""
    return {name: diagnose(action[4], sheet(action, {AT: faulty[name]}, 1)) for name in PLANTED}


@pytest.fixture(scope="module")
def sound(action):
    """Diagnoses of sheets without a fault, by seed."""
    return {seed: diagnose(action[4], sheet(action, {}, seed)) for seed in (1, 2, 3)}


def sheet(action, rows, seed, head=None, figures=NAMES):
    """Readings of the action with some notes replaced."""
    plain = action[3]
    values, verdicts = plain.values.copy(), list(plain.verdicts)
    for note, (row, verdict) in rows.items():
        values[list(NOTES).index(note)], verdicts[list(NOTES).index(note)] = row, verdict
    return read_off(list(NOTES), Computed(values, tuple(verdicts), plain.failed), seed, head, figures)


def shared(action, kind, amount):
    """Every note changed alike."""
    case, trains, level, _, _ = action
    every = [changed(train, [(one_of(train, kind), amount)]) for train in trains.values()]
    found = computed(every, case.strokes).from_level(level)
    return {note: (found.values[i], found.verdicts[i]) for i, note in enumerate(NOTES)}


def first(found, note=AT):
    """The first cause of a note that is told as faulty."""
    one = next(one for one in found.found if one.note == note)
    return one.causes[0].name if one.faulty else ""


def test_between_two_amounts_a_shared_cause_is_pressed_once_more(action):
    # As the rests of all keys sink, these lose their play and then weights: a straight line misses a pluck by 34 gf.
    answers, at = action[4], np.array([-1.5e-3])
    truth = np.array([row for row, _ in shared(action, "rest", at[0]).values()]) - action[3].values
    low = next(one for one in candidates(answers, pressed=True) if one.fault.name == "rest-low")
    coarse, sharp = low.at(at)[:, 0], low.pressed_at(at[0], answers).at(at)[:, 0]
    pluck = NAMES.index("pluck")
    assert np.max(np.abs(coarse - truth)[:, pluck]) > 0.1
    assert sharp == pytest.approx(truth, abs=1e-6, nan_ok=True)
    assert np.all(np.isnan(sharp) == np.isnan(truth))


@pytest.mark.long
def test_some_notes_are_told_as_beside_all_others(action, faulty):
    read = sheet(action, {61: faulty["spring"], AT: faulty["nut"]}, 1)
    whole, some = diagnose(action[4], read), diagnose(action[4], read, [AT, 64])
    assert [one.note for one in some.told] == [AT, 64] and len(some.others) == 3
    for one in some.told:
        alike = next(other for other in whole.found if other.note == one.note)
        assert one.belief.models == alike.belief.models and np.array_equal(one.share, alike.share, equal_nan=True)
    assert some.even == whole.even != diagnose(action[4], sheet(action, {}, 1)).even
    said = sentences(some, action[0], "trade", {})
    assert said[0].startswith("2 of 5 measured notes are told: 1 as drawn, 1 with a fault of its own")
    assert "1 of them with a fault and none in doubt" in said[1]
    assert not any("C#4" in line for line in said)
    quiet = diagnose(action[4], read, [64, 65])
    assert quiet.nothing and "matches its drawing" not in " ".join(altered(quiet, action[0]))


def test_every_planted_fault_comes_first(planted):
    assert {name: first(found) for name, found in planted.items()} == {name: name for name in PLANTED}


def test_faults_that_these_figures_part_do_not_share_the_first_place(planted):
    told = {name: next(one for one in found.found if one.note == AT) for name, found in planted.items()}
    shared_by = {name: {named.hypothesis.fault.cause for named in one.sharing} for name, one in told.items()}
    assert not shared_by["nut"] and not shared_by["rubs"]
    assert shared_by["seal"] <= {"oblique"}  # both pluck heavy, and only with the wind on
    assert shared_by["spring"] <= {"lead"}  # down, hold and up go alike
    assert all("1 =" not in one.places for name, one in told.items() if not shared_by[name])


def test_a_lead_and_a_spring_share_the_first_place_and_the_eye_tells(action, faulty):
    found = diagnose(action[4], sheet(action, {AT: faulty["lead"]}, 1))
    one = next(one for one in found.found if one.note == AT)
    assert {one.causes[0].name, *(named.hypothesis.fault.cause for named in one.sharing)} == {"lead", "spring"}
    assert one.places[:3] == ("1 =", "1 =", "3") and one.rival is one.sharing[0]
    tests = alternatives(found)
    said = next(line for line in sentences(found, action[0], "trade", tests) if line.startswith("D#4: "))
    assert "these figures do not part them" in said and "weigh the spring at the eye: " in said


def test_two_at_once_are_both_told_with_their_amounts(action, faulty):
    found = diagnose(action[4], sheet(action, {AT: faulty["both"]}, 5))
    one = next(one for one in found.found if one.note == AT)
    named = {cause.name: cause.faults[0] for cause in one.causes[:3]}
    assert set(named) >= {"spring", "nut"}
    assert named["spring"].low <= -0.35 <= named["spring"].high
    assert named["nut"].low <= 1.2e-3 <= named["nut"].high
    assert [other.note for other in found.found if other.faulty] == [AT]


def test_nothing_planted_nothing_found(action, sound):
    assert all(found.nothing for found in sound.values())
    assert sentences(sound[3], action[0], "trade", {})[0].startswith("Nothing found: 5 notes")
    assert "matches its drawing" in altered(sound[3], action[0])[-1]


def test_what_all_share_is_one_cause_and_no_fault_of_notes(action):
    answers = action[4]
    low = diagnose(answers, sheet(action, shared(action, "pressure", -120.0), 1))
    assert [step.found.cause for step in low.base.steps] == [("wind", "")]
    assert low.base.steps[0].found.amount == pytest.approx(-120.0, abs=40.0)
    assert not any(one.faulty for one in low.found)
    deep = diagnose(answers, sheet(action, shared(action, "bottom", 1e-3), 4)).base.steps[0].ranked
    assert len({(one.fault.name, one.side) for one in deep}) == len(deep)  # a soft felt stayed beside a deep bottom
    told = next(line for line in sentences(low, action[0], "trade", {}) if line.startswith("All 5 notes share"))
    assert "read the pressure in the box on a manometer: " in told
    assert told.count(" mmH2O if ") == 1 + ("which the figures do not part: " in told or " Or (" in told)
    rail = diagnose(answers, sheet(action, shared(action, "rest", 1.5e-3), 2))
    assert [step.found.cause for step in rail.base.steps] == [("key rest", "")]
    assert not any(one.faulty for one in rail.found)
    levels = shared(action, "rest", 0.0)
    for row, _ in levels.values():
        row[NAMES.index("level")] += 2e-3
    edge = diagnose(answers, sheet(action, levels, 3))
    assert [step.found.cause for step in edge.base.steps] == [("straightedge", "")]


def test_a_frame_that_moved_is_one_cause_with_its_amount_and_mended_as_one(action):
    answers = action[4]
    for way, said in ((-0.8e-3, "raise the key frame"), (1.5e-3, "lower the key frame")):
        moved = answers.all_at([("frame", way)])
        rows = {note: (moved.values[i], moved.verdicts[i]) for i, note in enumerate(NOTES)}
        found = diagnose(answers, sheet(action, rows, 4))
        (step,) = found.base.steps
        assert step.found.cause == ("key frame", "")
        assert step.found.amount == pytest.approx(way, rel=0.2)
        assert any(said in line for line in sentences(found, action[0], "trade", {}))


@pytest.mark.parametrize(("kind", "amount"), [pytest.param("rest", -1.5e-3, marks=pytest.mark.long), ("frame", 1.2e-3)])
def test_what_takes_the_play_of_all_is_told_by_its_amount_and_no_note_is_blamed(action, kind, amount):
    # Weights change within a tenth of a millimetre there: a straight line between presses had missed both.
    moved = action[4].all_at([(kind, amount)])
    rows = {note: (moved.values[i], moved.verdicts[i]) for i, note in enumerate(NOTES)}
    found = diagnose(action[4], sheet(action, rows, 2))
    (step,) = found.base.steps
    assert step.found.fault.kind == kind and step.found.amount == pytest.approx(amount, rel=0.03)
    assert not any(one.faulty for one in found.found)


def test_a_run_that_is_loose_at_all_notes_is_told_by_its_amount(action):
    moved = action[4].all_at([("nut", 0.8e-3)])
    rows = {note: (moved.values[i], moved.verdicts[i]) for i, note in enumerate(NOTES)}
    exact = sheet(action, rows, 1)
    figures = dict(zip(NOTES, moved.values, strict=True))
    read = tuple(replace(one, value=float(figures[one.note][NAMES.index(one.figure)])) for one in exact.rows)
    found = diagnose(action[4], replace(exact, rows=read))
    assert found.base.steps[0].found.fault.kind == "nut"
    assert found.base.steps[0].found.amount == pytest.approx(0.8e-3, rel=0.05)


@pytest.mark.parametrize(("off", "again"), [(0.3e-3, False), (1.0e-3, True)])
def test_one_reading_far_off_at_a_sound_note_is_to_be_read_again(action, off, again):
    at = list(NOTES).index(AT)
    row = action[3].values[at].copy()
    row[NAMES.index("level")] -= off
    found = diagnose(action[4], sheet(action, {AT: (row, action[3].verdicts[at])}, 1))
    assert not any(one.faulty or one.doubtful for one in found.told)
    said = sentences(found, action[0], "trade", {})
    assert any(line.startswith("Read again: D#4 level: ") for line in said) == again


def test_the_pressure_of_the_sheet_is_no_fault(action):
    case, trains = action[0], action[1]
    lower = shared(action, "pressure", -120.0)
    readings = sheet(action, lower, 4, Head(pressure=trains[AT].value(trains[AT].role("box").name, "p_box") - 120.0))
    few = replace(readings, rows=tuple(one for one in readings.rows if one.note < 65), speech={})
    found = diagnose(answers_for(trains, few, case.strokes), few)
    assert found.nothing


def test_a_sheet_with_holes(action, faulty):
    case, trains = action[0], action[1]
    whole = sheet(action, {AT: faulty["spring"]}, 6)
    odd = replace(whole, rows=tuple(one for one in whole.rows if one.note != 64), speech={})
    found = diagnose(answers_for(trains, odd, case.strokes), odd)
    assert [one.note for one in found.found] == [61, 62, 63, 65]
    assert first(found) == "spring"
    alone = replace(whole, rows=tuple(one for one in whole.rows if one.note == AT), speech={})
    found = diagnose(answers_for(trains, alone, case.strokes), alone)
    assert found.found[0].causes[0].name == "spring"
    assert any("Fewer than" in line for line in sentences(found, case, "trade", {}))


def test_one_column_only(action, faulty):
    levels = sheet(action, {AT: faulty["rest felt"]}, 7, figures=("level",))
    found = diagnose(action[4], replace(levels, speech={}))
    one = next(one for one in found.found if one.note == AT)
    assert one.causes[0].name == "rest felt"
    pluck = sheet(action, {AT: faulty["spring"]}, 8, figures=("pluck",))
    found = diagnose(action[4], pluck)
    one = next(one for one in found.found if one.note == AT)
    assert 0.05 < one.causes[0].probability < 0.9  # one weight cannot say what made it


def test_the_test_tells_the_first_two_apart(action, planted):
    found = planted["spring"]
    test = alternatives(found)[AT]
    assert test.unit
    assert test.one != test.other
    said = "\n".join(sentences(found, action[0], "trade", {AT: test}))
    assert "To tell: " in said
    assert "the pallet spring is weak" in said


def test_a_fault_that_moves_no_figure_that_was_read_is_said(action):
    read = sheet(action, {}, 1, figures=("level", "pluck_off"))
    said = " ".join(sentences(diagnose(action[4], read), action[0], "trade", {}))
    assert "the bottom felt is soft" in said.partition("Not to be seen")[2]
    assert "the pallet spring is weak" not in said


def test_a_fault_that_the_structure_rules_out_is_said(action, sound):
    assert any("roller" in line and "no roller" in line for line in sentences(sound[1], action[0], "trade", {}))


def test_no_readings_of_a_note_that_is_only_heard(action):
    case, trains = action[0], action[1]
    heard = Readings(speech={AT: "ciphers", 64: "speaks"})
    found = diagnose(answers_for(trains, heard, case.strokes), heard)
    one = next(one for one in found.found if one.note == AT)
    assert one.causes[0].name in ("leak", "nut", "rest felt")
    assert np.isnan(one.share).all()


def test_a_word_that_no_figure_bears_out_is_told(action):
    whole = sheet(action, {}, 1)
    bare = tuple(one for one in whole.rows if one.note != AT)
    blank = diagnose(action[4], replace(whole, rows=bare, speech={**whole.speech, AT: "ciphers"}))
    said = sentences(blank, action[0], "trade", {})
    assert said[0].startswith("Nothing certain: 5 notes were measured, 4 as drawn")
    assert any(line.startswith("D#4 ciphers; no figures were read") for line in said)
    assert not any("matches its drawing" in line for line in altered(blank, action[0]))
    full = diagnose(action[4], replace(whole, speech={**whole.speech, AT: "mute"}))
    said = sentences(full, action[0], "trade", {})
    (mute,) = [line for line in said if line.startswith("D#4 is mute, the sheet says")]
    assert "lift, pluck" in mute
