"""Tables and sentences of a made-up year: figures as its courses have them, days named, nothing for nothing."""

import csv
import io
import math

import numpy as np
import pytest
from a_year import WHY, a_year, mute
from rich.console import Console

from keyaction.sim.commands.sheet_tables import show_sheet
from keyaction.sim.seasons.notes_sheets import file_columns, file_sheet, notes_sheet
from keyaction.sim.seasons.rail_sheets import left_sheet, rail_sheet, without_rail
from keyaction.sim.seasons.result import cipher_days, extremes, season_result
from keyaction.sim.seasons.said import length, load, spells_said
from keyaction.sim.seasons.season import LABELS
from keyaction.sim.seasons.sheets import climate_sheet, months_sheet, quick_and_slow
from keyaction.sim.seasons.told import RODS_ALONE, sentences

DRIFT = 0.5e-3


@pytest.fixture(scope="module")
def season():
    return a_year()


def rows(sheet):
    return list(csv.DictReader(io.StringIO(sheet.csv())))


def test_the_months_hold_the_least_and_greatest_of_all_notes(season):
    first = rows(months_sheet(season, "trade"))[0]
    january = slice(0, 31)
    plays = season.over("lost_motion")[:, january]
    assert first["time"] == "Jan"
    assert float(first["play of balanced keys, least (mm)"]) == pytest.approx(1e3 * plays.min(), abs=1e-3)
    assert float(first["play of balanced keys, most (mm)"]) == pytest.approx(1e3 * plays.max(), abs=1e-3)
    margins = season.over("margin")[:, january]
    assert float(first["margin least (mm)"]) == pytest.approx(1e3 * margins.min(), abs=1e-3)
    assert first["note of the least margin"] == list(season.notes.values())[int(margins.min(axis=1).argmin())].name


def test_hung_keys_are_told_by_their_level_balanced_ones_by_their_play():
    headings = " ".join(column.title for column in months_sheet(a_year(hung=True), "trade").columns)
    assert "level of hung keys" in headings and "play" not in headings
    headings = " ".join(column.title for column in months_sheet(a_year(hung=False), "trade").columns)
    assert "level" not in headings and "play of balanced keys" in headings


def test_the_climate_sheet_names_what_follows_soonest_and_latest(season):
    assert quick_and_slow(season) == ("riser", "posts")
    sheet = climate_sheet(season, "trade")
    assert "Quick is riser, slow posts." in sheet.note
    assert rows(sheet)[0]["place of the rail, least (mm)"] == f"{1e3 * season.rail.place[:31].min():.3f}"
    assert "rail" not in " ".join(column.title for column in climate_sheet(a_year(rail=False), "trade").columns)


def test_the_notes_sheet_has_the_worst_with_its_day_and_the_first_cipher(season):
    first, *others = rows(notes_sheet(season, "trade", DRIFT, "0.5 mm"))
    one = next(iter(season.notes.values()))
    assert first["note"] == "C2"
    worst = int(np.argmin(one.figures["margin"]))
    assert float(first["margin, least (mm)"]) == pytest.approx(1e3 * one.figures["margin"][worst], abs=1e-3)
    assert first["day of the least margin"] == season.year.when(worst)
    assert first["sounds unplayed from"] == season.year.when(one.cipher) == "1 Jan"
    assert float(first["days on which it sounds unplayed"]) == cipher_days(season, one) > 0
    assert [row["sounds unplayed from"] for row in others] == ["-"] * 5


def test_a_file_has_every_figure_of_every_note_whatever_its_key():
    for hung in (False, True):
        season = a_year(hung=hung, failed=(1,))
        sheet = file_sheet(season, "trade", DRIFT, "0.5 mm")
        assert [one.title for one in sheet.columns] == [one.title for one in file_columns("trade", "0.5 mm")]
        first, failed, *_ = rows(sheet)
        figures = next(iter(season.notes.values())).figures
        assert first["key"] == ("hung" if hung else "balanced")
        for name, (si, label, _) in LABELS.items():
            unit, per = ("mm", 1e3) if si == "m" else ("gf", 1 / 9.80665e-3)
            for end, values in (("least", np.nanmin), ("most", np.nanmax)):
                exact = per * values(figures[name])
                assert float(first[f"{label}, {end} ({unit})"]) == pytest.approx(exact, abs=1e-3), name
        assert failed["no figures because"] == WHY and failed["margin, least (mm)"] == ""


@pytest.mark.parametrize(("hung", "units"), [(True, "trade"), (False, "trade"), (True, "si")])
def test_tables_fit_a_terminal(hung, units):
    season = a_year(hung=hung, cipher="all", naming="german")
    console = Console(width=200)
    with console.capture() as shown:
        for sheet in (notes_sheet(season, units, DRIFT, "0.5 mm"), months_sheet(season, units)):
            show_sheet(console, sheet)
    assert max(len(line.rstrip()) for line in shown.get().splitlines()) <= 80


def test_a_failed_note_is_a_row_of_nothing_with_its_reason():
    sheet = notes_sheet(a_year(failed=(1,)), "trade", DRIFT, "0.5 mm")
    assert sheet.rows[1][0].endswith("!") and math.isnan(sheet.rows[1][1])
    assert WHY in sheet.lines[0]


def test_the_rail_takes_up_what_its_gain_says(season):
    one = next(iter(season.notes.values()))
    assert without_rail(season, one) == pytest.approx(one.figures["tightening"] - season.rail.place)
    share = float(rows(left_sheet(season, "trade"))[0]["share of the range that the rail takes up (%)"])
    exact = 1 - np.ptp(one.figures["tightening"]) / np.ptp(without_rail(season, one))
    assert share == pytest.approx(100 * exact, abs=0.1)


def test_days_at_a_stop_are_counted_month_by_month(season):
    ahead = sum(float(row["days at the stop ahead (d)"]) for row in rows(rail_sheet(season, "trade")))
    assert ahead == np.sum(season.rail.at_stop == 1) > 0


def test_a_division_without_a_rail_has_no_such_table():
    with pytest.raises(ValueError, match="no rail floats"):
        rail_sheet(a_year(rail=False), "trade")


# -- the result that pictures read ---------------------------------------------------------------------------
def test_the_result_has_both_ends_and_both_days(season):
    found, (dry, damp) = season_result(season), extremes(season)
    assert season.year.humidity[dry] < 0.4 < 0.65 < season.year.humidity[damp]
    assert found["margin_low"] == pytest.approx(season.over("margin").min(axis=1))
    assert found["margin_dry"] == pytest.approx(season.over("margin")[:, dry])
    assert str(found["verdict"][0]).startswith("sounds unplayed (a cipher): first on 1 Jan")
    assert str(found["verdict"][-1]) == "speaks and falls silent"


# -- sentences -------------------------------------------------------------------------------------------------
def told(*, drift=DRIFT, **kinds):
    return " ".join(sentences(a_year(**kinds), "trade", drift))


def test_the_first_cipher_is_named_with_its_day_and_how_many_follow():
    text = told()
    assert "First to sound unplayed: C2, on 1 Jan; 1 of 6 notes do on some day" in text
    assert (
        "made-up air, 13.9" in text
        and "Figures of the climate: invented." in text
        and "365 days" in text
        and "Regulated at 17.9 °C, 52 % RH" in text
    )


def test_where_none_sounds_the_least_margin_is_told():
    text = told(cipher="none")
    assert "No note sounds unplayed; the least margin is" in text and "of C2 on " in text


def test_the_stop_of_the_rail_is_told_and_what_is_left():
    text = told()
    assert "stop ahead on 26 days, first on " in text and "is left (C2)" in text
    assert "stop" not in told(stops=False)


def test_drift_is_told_with_its_day_or_that_there_is_none():
    assert "drifts by 0.5 mm in 117 days, from 30 Aug on" in told()
    assert "of no note drifts by 9 mm over the whole" in told(drift=9e-3)


def test_rods_alone_say_how_to_state_members():
    assert RODS_ALONE in told(members=False)
    assert RODS_ALONE not in told()


@pytest.mark.parametrize("kinds", [{"days": 1}, {"swing": 0.0}, {"failed": (0, 1, 2), "notes": 3}, {"cipher": "all"}])
def test_edges_are_told(kinds):
    season = a_year(**kinds)
    assert all(line.endswith(".") for line in sentences(season, "si", DRIFT))
    for sheet in (climate_sheet(season, "si"), months_sheet(season, "si"), notes_sheet(season, "si", DRIFT, "0.5 mm")):
        assert len(list(sheet.shown())) == len(sheet.rows) > 0


# -- notes that do not speak ---------------------------------------------------------------------------------
def spell(*spans, days=365):
    there = np.zeros(days, dtype=bool)
    for first, last in spans:
        there[first : last + 1] = True
    return there


def test_a_mute_note_is_named_with_its_spell_and_counted():
    season = mute(a_year(), {1: spell((0, 88))})
    name = list(season.notes.values())[1].name
    text = " ".join(sentences(season, "trade", DRIFT))
    assert f"{name} does not speak when played from 1 Jan to 30 Mar: its run is too slack." in text
    column = "days on which it does not speak when played"
    assert [float(row[column]) for row in rows(notes_sheet(season, "trade", DRIFT, "0.5 mm"))] == [0, 89, 0, 0, 0, 0]
    assert str(season_result(season)["verdict"][1]) == "does not speak: first on 1 Jan, 89 days in all"
    assert "does not speak" not in told()


def test_mute_notes_are_listed_and_those_beyond_six_counted():
    season = a_year(notes=8)
    many = mute(season, dict.fromkeys(range(8), spell((200, 200))))
    text = " ".join(sentences(many, "trade", DRIFT))
    assert "8 of 8 notes do not speak when played, their runs too slack: C2 on 20 Jul; " in text
    assert "; and 2 others." in text


@pytest.mark.parametrize(
    ("spans", "text"),
    [
        (((9, 11), (14, 20)), "from 10 Jan to 12 Jan, from 15 Jan to 21 Jan"),
        (((9, 11), (13, 20)), "from 10 Jan to 21 Jan"),
        (((0, 9), (360, 364)), "from 27 Dec to 10 Jan"),
        (((0, 364),), "on every day"),
        (((5, 5), (50, 59), (90, 99), (150, 159), (200, 200)), "from 20 Feb to 1 Mar, from 1 Apr to 10 Apr, "
         "from 31 May to 9 Jun and in 2 shorter spells"),
    ],
)  # fmt: skip
def test_spells_less_than_three_days_apart_are_one(season, spans, text):
    assert spells_said(season.year, spell(*spans)) == text


@pytest.mark.parametrize(
    ("si", "text"),
    [(1.0234e-5, "0.01 mm"), (-0.358e-3, "-0.36 mm"), (1.274e-3, "1.27 mm"), (0.0914e-3, "0.09 mm"), (0.0, "0 mm")],
)
def test_lengths_are_told_no_finer_than_in_tables(si, text):
    assert length(si, "trade") == text


def test_a_load_has_its_kilograms_beside():
    assert load(2.5 * 9.80665, "trade") == "2500 gf (2.5 kg)"
    assert load(2.5 * 9.80665, "si") == "24.5 N" and load(float("inf"), "trade").startswith("inf")
