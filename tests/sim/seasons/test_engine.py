"""A year of a division: what stays where nothing grows, what cancels, who hangs and who stands on a pin; ciphers."""

from dataclasses import replace

import numpy as np
import pytest

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.models.climate.states import steady
from keyaction.models.climate.year import DAY, Year
from keyaction.models.formulas.wood import moisture_content
from keyaction.models.frame.frame import Frame
from keyaction.models.frame.member import Member
from keyaction.models.materials.library import default_library
from keyaction.sim.figures.play import press_note
from keyaction.sim.figures.quantities import key_dip, lost_motion, pluck_point
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.seasons.engine import begins, frame_of, seasons
from keyaction.sim.tightening.tightness import stretched

NOTES = (48, 60)
WARM, MEAN = 293.15, 0.50


def air(*humidity, temperature=WARM, step=400.0):
    """A climate with one row every `step` days, so long that it repeats itself and all wood has settled in each."""
    seconds = np.arange(len(humidity)) * step * DAY
    return Year("made up", seconds, np.full(len(humidity), temperature), np.array(humidity, dtype=float))


def member(name, length, towards, carries, material="western-redcedar", grain="along", on="floor"):
    wood = default_library().get(material)
    lag = 0.0 if wood.kind == "wood" else None
    return Member(name, wood, dict.fromkeys(range(128), length), towards, grain, on, carries, lag=lag)


def frame(*members, rail=None):
    return Frame(members, rail, WARM, MEAN)


@pytest.fixture(scope="module")
def case():
    return read_case("demo-wood")


@pytest.fixture(scope="module")
def bare(case):
    """Rods alone move: dry, as regulated, damp."""
    return seasons(case, air(0.35, 0.50, 0.65), NOTES, frame=frame())


def test_as_regulated_nothing_has_moved(bare):
    for note in bare.notes.values():
        assert note.figures["tightening"][1] == pytest.approx(0.0, abs=1e-6)
        assert note.figures["level"][1] == pytest.approx(0.0, abs=1e-6)
        assert note.cipher == -1 and note.balanced and not note.failed


def test_figures_as_regulated_are_those_of_a_press(case, bare):
    for note in NOTES:
        press = press_note(NoteModel(train_of(case, note)), case.strokes)
        figures = bare.notes[note].figures
        assert figures["key_dip"][1] == pytest.approx(key_dip(press), abs=2e-6)
        assert figures["lost_motion"][1] == pytest.approx(lost_motion(press), abs=2e-6)
        assert figures["pluck_point"][1] == pytest.approx(pluck_point(press), abs=2e-6)


def test_the_change_of_a_run_by_hand(bare):
    # Red cedar along the grain: 0.15 % from 30 % moisture to none; thin rods follow at once. The pull-down is metal.
    lengths = 0.6 + 1.8 + 1.2
    gained = moisture_content(WARM, 0.65) - moisture_content(WARM, MEAN)
    grown = lengths * 0.0015 * gained / 0.30
    for note in bare.notes.values():
        assert -note.figures["tightening"][2] * 150 / 230 == pytest.approx(grown, rel=0.01)
        assert note.figures["lost_motion"][2] > note.figures["lost_motion"][1] > note.figures["lost_motion"][0]
        play = note.figures["lost_motion"]
        assert play[2] - play[1] == pytest.approx(-note.figures["tightening"][2], rel=0.02)
        assert np.all(np.abs(note.figures["level"]) < 0.15e-3)  # a balanced key keeps its level while there is play


def test_a_note_of_the_year_is_a_press_with_that_stretch(case, bare):
    one = bare.notes[60]
    press = press_note(NoteModel(stretched(train_of(case, 60), one.tightness.rod, one.stretch[2])), case.strokes)
    assert one.figures["pluck_point"][2] == pytest.approx(pluck_point(press), abs=0.02e-3)
    assert one.figures["key_dip"][2] == pytest.approx(key_dip(press), abs=0.02e-3)


def test_posts_of_the_same_wood_beside_a_plumb_run_cancel_it(case):
    # Riser (down to the square) and drop (up from the square to the roller): 600 and 1200 mm of the same wood as posts
    # under key and roller; the level tracker has a beam of its own.
    posts = (
        member("key-post", 0.6, "up", ("key",)),
        member("beam", 1.8, "back", ("upper-square",)),
        member("tall-post", 1.2, "up", ("roller", "pallet"), on="beam"),
    )
    found = seasons(case, air(0.2, 0.5, 0.8), (60,), frame=frame(*posts)).notes[60]
    assert np.max(np.abs(found.figures["tightening"])) < 2e-6
    assert np.ptp(found.figures["pluck_point"]) < 2e-6


def test_carbon_beside_the_same_posts_does_not(case):
    stiff = read_case("demo-wood", set_={f"{rod}.material": "carbon-rod" for rod in ("riser", "level-tracker", "drop")})
    posts = (member("tall-post", 1.2, "up", ("roller", "pallet")),)
    year = air(0.2, 0.5, 0.8)
    wood, carbon = (seasons(one, year, (60,), frame=frame(*posts)).notes[60] for one in (case, stiff))
    drop = np.ptp(wood.figures["tightening"]) - np.ptp(carbon.figures["tightening"])
    assert np.ptp(carbon.figures["tightening"]) > 0.2e-3
    assert carbon.figures["tightening"][2] > 0 > wood.figures["tightening"][2]  # damp: the post lifts the roller
    assert drop > 0  # the level rod of wood has nothing beside it


def test_all_of_carbon_at_one_temperature_moves_nothing():
    stiff = read_case("demo-wood", set_={f"{rod}.material": "carbon-rod" for rod in ("riser", "level-tracker", "drop")})
    found = seasons(stiff, air(0.2, 0.5, 0.8), (60,), frame=frame())
    assert np.max(np.abs(found.over("tightening"))) < 1e-12
    assert found.moisture == {}


def test_a_hung_key_moves_its_level_and_not_its_play():
    case = read_case("hung-rollers")
    wet = frame(member("tall-post", 1.0, "up", ("roller", "pallet"), material="white-oak"))
    note = case.compass[len(case.compass) // 2]
    found = seasons(case, air(0.5, 0.65), (note,), frame=wet).notes[note]
    assert not found.balanced
    lower = seasons(case, air(0.5, 0.40), (note,), frame=wet).notes[note]
    slack, tight = sorted((found, lower), key=lambda one: one.figures["tightening"][1])
    assert slack.figures["level"][1] == pytest.approx(slack.figures["tightening"][1], rel=0.05)  # sinks by all of it
    assert abs(slack.figures["lost_motion"][1] - slack.figures["lost_motion"][0]) < 0.02e-3
    assert tight.figures["level"][1] > 0


def test_a_constant_climate_one_day_and_a_note_drawn_over_tight(case):
    found = seasons(case, steady("heated-dry-winter", days=100), (60,), frame=frame()).notes[60]
    assert all(np.ptp(course[5:][np.isfinite(course[5:])]) < 1e-9 for course in found.figures.values())
    assert found.figures["tightening"][0] == pytest.approx(0.0, abs=1e-6)  # it finds the wood as regulated
    assert found.figures["tightening"][5] > 0.1e-3
    one = seasons(case, air(0.30), (60,), frame=frame()).notes[60]
    assert all(len(course) == 1 for course in one.figures.values())
    tight = read_case("demo-wood", set_={"drop.lost_motion": "-1.1 mm"})
    rows = seasons(tight, air(0.5, 0.30, 0.10, 0.5), (60,), frame=frame()).notes[60]
    assert rows.cipher == int(np.flatnonzero(rows.figures["margin"] < 0)[0])
    assert 0 < rows.cipher < 3 and rows.figures["margin"][0] > 0


@pytest.mark.parametrize(
    ("when", "around", "first"),
    [("000", True, -1), ("0110", True, 1), ("1100", True, 0), ("1001", True, 3), ("1001", False, 0), ("111", True, 0)],
)
def test_a_spell_over_the_end_of_a_year_counts_from_where_it_begins(when, around, first):
    assert begins(np.array([sign == "1" for sign in when]), around) == first


def test_a_note_too_slack_to_speak_is_told():
    loose = read_case("demo-wood", set_={"drop.lost_motion": "5.4 mm"})
    found = seasons(loose, air(0.5, 0.95), (60,), frame=frame()).notes[60]
    assert list(found.mute) == [False, True] and found.cipher == -1
    assert found.figures["steady_lift"][0] > 0.1e-3 > found.figures["steady_lift"][1]


def test_a_case_that_says_nothing_has_a_frame_that_stands_still(case):
    told = frame_of(case)
    assert told.members == () and told.rail is None
    assert (told.temperature, told.humidity) == (293.15, 0.50)  # of its box


def test_a_surface_of_wood_lifts_the_level_and_nothing_else(case):
    key = member("key-wood", 0.024, "up", ("key.front",), material="sitka-spruce", grain="tangential")
    with_, without = (seasons(case, air(0.5, 0.65), (60,), frame=frame(*one)).notes[60] for one in ((key,), ()))
    risen = with_.figures["level"] - without.figures["level"]
    assert risen[1] > 0.1e-3
    assert np.array_equal(with_.figures["tightening"], without.figures["tightening"])


def test_more_notes_do_not_change_one_without_a_rail(case, bare):
    alone = seasons(case, bare.year, (60,), frame=replace(frame()))
    for name, course in alone.notes[60].figures.items():
        np.testing.assert_allclose(course, bare.notes[60].figures[name], atol=2e-6)
