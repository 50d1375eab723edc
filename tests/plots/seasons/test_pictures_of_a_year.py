"""Pictures of a year: lettering that can be read, what is drawn, a reason where nothing is."""

import matplotlib as mpl
import numpy as np
import pytest
from a_year import RAIL, WHY, a_year, mute, struck
from figure_checks import legend, line, outside, overlaps, words

from keyaction.plots.seasons.compass_year import compass_year
from keyaction.plots.seasons.note_year import note_year
from keyaction.plots.seasons.rail_struck import rail_struck
from keyaction.plots.seasons.rail_year import rail_year
from keyaction.plots.seasons.save import drawings, save_rail, usual_notes

KINDS = {
    "one note": {"notes": 1},
    "a whole manual, some failed": {"notes": 56, "failed": (3, 20, 21)},
    "thirty notes, all sound, German names": {"notes": 30, "naming": "german", "cipher": "all"},
    "no rail, no members, no dates": {"rail": False, "members": False, "start": None},
    "a constant climate": {"swing": 0.0, "cipher": "none"},
    "one day": {"days": 1, "cipher": "all"},
    "forty days of hung keys": {"days": 40, "hung": True},
    "none is known": {"notes": 3, "failed": (0, 1, 2)},
}
ABOUT = {"title": "made up", "case_name": "made-up.toml"}


def first_note(season, units):
    return note_year(season, next(iter(season.notes.values())).name, units)


CASES = [
    *((first_note, kind, "trade") for kind in ("one day", "no rail, no members, no dates", "none is known")),
    *((compass_year, kind, "trade") for kind in ("one note", "a whole manual, some failed", "a constant climate")),
    *((rail_year, kind, "trade") for kind in ("one day", "thirty notes, all sound, German names")),
    *((draw, "forty days of hung keys", "si") for draw in (first_note, rail_year)),
]
"""A figure is half a second: each kind where it can go wrong."""


@pytest.mark.one_in(3)
@pytest.mark.parametrize(("draw", "kind", "units"), CASES)
def test_lettering_is_clear(draw, kind, units):
    figure = draw(a_year(**KINDS[kind]), units)
    assert overlaps(figure) == []
    assert outside(figure) == []


@pytest.mark.parametrize("quiet", [0, 30])
def test_lettering_of_struck_notes_is_clear(quiet):
    figure = rail_struck(struck(quiet), ABOUT)
    assert overlaps(figure) == [] and outside(figure) == []


def test_the_librarys_settings_stay_as_they_were():
    before = dict(mpl.rcParams)
    compass_year(a_year(notes=1))
    assert dict(mpl.rcParams) == before


def panel(figure, words_):
    found = [axes for axes in figure.axes if axes.get_ylabel().startswith(words_)]
    assert len(found) == 1, [axes.get_ylabel() for axes in figure.axes]
    return found[0]


# -- one note ------------------------------------------------------------------------------------------------
def test_a_note_has_air_wood_rail_and_what_follows():
    season = a_year()
    figure = note_year(season, "C2")
    assert {axes.get_ylabel() for axes in figure.axes} == {
        "air (°C)", "humidity (%)", "moisture (%)", "rail (mm)", "at the key (mm)", "lift (mm)", "seat load (gf)",
        "margin (mm)",
    }  # fmt: skip
    assert legend(panel(figure, "moisture")) == ["posts", "rail of squares", "key frame", "riser, level-tracker"]
    drawn = line(panel(figure, "at the key"), "lost motion")
    assert drawn[:, 1] == pytest.approx(1e3 * season.notes[36].figures["lost_motion"])
    assert "guidance" in legend(panel(figure, "humidity"))[0]


def test_cipher_days_are_shaded_in_every_panel_and_the_longest_named():
    season = a_year()
    figure = note_year(season, "C2")
    spells = {len([one for one in axes.patches if one.get_hatch() == "//"]) for axes in figure.axes}
    sounding = np.diff(np.concatenate([[0], season.notes[36].figures["margin"] < 0, [0]])) == 1
    assert spells == {int(np.sum(sounding))}
    assert "sounds 5 Jan to 5 Feb" in words(figure)
    assert "sounds unplayed (a cipher): first on 1 Jan, 69 days in all" in words(figure)


def test_mute_days_are_shaded_in_another_way_and_named():
    there = np.zeros(365, dtype=bool)
    there[200:231] = True
    figure = note_year(mute(a_year(), {0: there}), "C2")
    for axes in figure.axes:
        (only,) = [one for one in axes.patches if one.get_hatch() == "\\\\"]
        assert only.get_x() == pytest.approx(199.5) and only.get_width() == pytest.approx(31.0)
    assert "mute 20 Jul to 19 Aug" in words(figure) and "sounds 5 Jan to 5 Feb" in words(figure)
    assert overlaps(figure) == [] and outside(figure) == []
    top = compass_year(mute(a_year(), {3: there})).axes[1]
    season = a_year()
    assert list(line(top, "does not speak")[:, 0]) == [list(season.notes)[3]]
    assert any("1 of 6 notes does not speak when played on some day" in text for text in words(top.figure))


def test_of_a_note_that_keeps_its_seat_nothing_is_shaded():
    quiet = note_year(a_year(), "G6")
    assert all(one.get_hatch() is None for axes in quiet.axes for one in axes.patches)


def test_a_failed_note_is_a_page_with_its_reason():
    assert WHY in " ".join(words(note_year(a_year(failed=(0,)), "C2")))


def test_an_absent_note_is_named_with_those_that_are_there():
    with pytest.raises(KeyError, match="note D2 is not in this year; it holds C2, "):
        note_year(a_year(), "D2")


# -- the compass ---------------------------------------------------------------------------------------------
def test_the_compass_has_play_or_level_by_the_kind_of_key():
    assert [axes.get_ylabel() for axes in compass_year(a_year()).axes[1:]] == ["play (mm)", "lift (mm)", "margin (mm)"]
    hung = compass_year(a_year(hung=True))
    assert hung.axes[1].get_ylabel() == "level (mm)"


def test_driest_and_dampest_day_are_marked_and_sounding_notes():
    season = a_year()
    margin = panel(compass_year(season), "margin")
    (dry,) = [one for one in margin.get_lines() if str(one.get_label()).startswith("driest wood, ")]
    day = int(np.argmin(np.mean(list(season.moisture.values()), axis=0)))
    assert dry.get_label() == f"driest wood, {season.year.when(day)}"
    assert dry.get_ydata() == pytest.approx(1e3 * season.over("margin")[:, day])
    top = compass_year(season).axes[1]
    assert list(line(top, "sounds unplayed (a cipher)")[:, 0]) == [36]


def test_nothing_but_failed_notes_is_a_page_with_a_reason():
    text = " ".join(words(compass_year(a_year(notes=2, failed=(0, 1)))))
    assert "None of the notes could be played (2 tried)" in text and WHY in text


# -- the rail ------------------------------------------------------------------------------------------------
def test_the_rail_stands_between_its_stops_which_are_named():
    season = a_year()
    figure = rail_year(season)
    place = panel(figure, "place")
    assert line(place, "_rail")[:, 1] == pytest.approx(1e3 * season.rail.place)
    assert {"stop ahead", "stop behind", "centre"} <= set(words(figure))
    levels = {round(float(one.get_ydata()[0]), 3) for one in place.get_lines() if len(one.get_ydata()) == 2}
    assert {1e3 * RAIL.ahead, -1e3 * RAIL.behind, 0.0} <= levels


def test_without_a_rail_a_page_says_so():
    assert "No rail floats in this division." in words(rail_year(a_year(rail=False)))


def test_struck_notes_and_the_quiet_ones_that_press_least():
    found = struck(30)
    figure = rail_struck(found, ABOUT)
    assert figure.axes[1].get_ylabel() == "gap under struck pallets,\nbelow 0 seated (mm)"
    names = legend(panel(figure, "quiet pallets"))
    assert names[0] == "all other quiet notes" and "D4, sounds" in names and len(names) == 9
    assert f"1 of {len(found.seats)} quiet notes sound: D4" in words(figure)


# -- files ---------------------------------------------------------------------------------------------------
def test_files_have_the_names_of_what_they_show():
    names = [name for name, _ in drawings(a_year(notes=2), [0, 1], "trade")]
    assert names == ["year-compass.png", "year-rail.png", "year-C2.png", "year-G6.png"]
    assert "year-rail.png" not in [name for name, _ in drawings(a_year(notes=2, rail=False), [], "trade")]


def test_a_picture_of_the_rail_alone_is_written_into_a_new_folder(tmp_path):
    (only,) = save_rail(a_year(notes=1, rail=False), tmp_path / "new")
    assert only.name == "year-rail.png" and only.read_bytes().startswith(b"\x89PNG")


def test_the_first_that_sounds_gets_a_picture_beside_those_that_stand_for_all():
    season = a_year(notes=56)
    names = [list(season.notes.values())[row].name for row in usual_notes(season)]
    assert names == ["C2", "C4", "C6"]
    assert len(usual_notes(a_year(notes=56, cipher="none"))) == 3
