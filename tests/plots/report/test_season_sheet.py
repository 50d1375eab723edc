"""The seasonal sheets of a report: a made-up year beside a real result."""

from dataclasses import replace

import pytest
from a_year import a_year

from keyaction.plots.report import seasons as seasonal
from keyaction.plots.report.pictures import Picture
from keyaction.plots.report.report import make_report
from keyaction.plots.report.seasons import (
    SOURCES,
    first_sheet,
    season_cautions,
    season_findings,
    season_pictures,
    season_sheets,
    season_sources,
)


@pytest.fixture(scope="module")
def season():
    return a_year(notes=2)


def test_sheets_of_a_year_with_a_rail(season):
    names = [sheet.name for sheet in season_sheets(season, "trade")]
    assert names == [
        "season-climate", "season-months", "season-ciphers", "season-notes", "season-rail", "season-left",
    ]  # fmt: skip
    assert "season-ciphers" not in [one.name for one in season_sheets(a_year(notes=2, cipher="none"), "trade")]
    assert "season-rail" not in [one.name for one in season_sheets(a_year(notes=2, rail=False), "trade")]


def test_the_climate_sheet_tells_the_day_of_regulation_and_the_guidance(season):
    lines = " ".join(season_sheets(season, "trade")[0].lines)
    assert "Regulated at 17.9 °C, 52 % RH" in lines
    assert "40 to 60 % humidity" in lines and "warning: " in lines


def test_first_ciphers_stand_in_the_order_in_which_they_begin():
    season = a_year(notes=56)
    rows = first_sheet(season, "trade").rows
    begins = [next(one.cipher for one in season.notes.values() if one.name == row[0]) for row in rows]
    assert begins == sorted(begins) and len(rows) == sum(one.cipher >= 0 for one in season.notes.values())
    assert all(row[3] > 0 for row in rows)


def test_the_summary_says_what_sounds_first(season):
    climate, first = season_findings(season, "trade")
    assert climate.text.startswith("A year. Climate: made-up air")
    assert first.beware and first.text.startswith("First to sound unplayed: C2, on 1 Jan")


def test_the_page_has_sheets_pictures_cautions_and_sources(played, season, monkeypatch):
    monkeypatch.setattr(seasonal, "png", lambda _: b"picture")
    monkeypatch.setattr("keyaction.plots.report.report.pictures_of", lambda *_: [Picture("slow", "slow", b"picture")])
    report = make_report(played, season=season)
    assert '<section id="season-months"' in report.html and "A year of C2, which has the least margin" in report.html
    assert "As regulated" in report.html and "As regulated" not in make_report(played).html
    assert "Regulating by the seasons" in report.html and "Historic material" in report.html
    assert all(one.split(":")[0] in report.html for one in SOURCES)
    assert {"season-climate", "season-notes"} <= {sheet.name for sheet in report.sheets}


def test_the_rail_is_told_at_work_and_the_first_cipher_with_what_to_do(season, monkeypatch):
    def adjusted(whole, note):
        assert whole is season
        return note

    monkeypatch.setattr("keyaction.sim.seasons.adjust.adjust", adjusted)
    lines = ["C2 sounds", "First: wait", "more"]
    monkeypatch.setattr("keyaction.sim.seasons.adjusted.told", lambda note, *_: lines if note == 36 else [])
    monkeypatch.setattr("keyaction.sim.seasons.held.rail_at_work", lambda _: "work")
    monkeypatch.setattr("keyaction.sim.seasons.worked.friction_allowed", lambda *_: 2.0)
    monkeypatch.setattr("keyaction.sim.seasons.worked.work_told", lambda *_: ["The load works."])
    sheets = {sheet.name: sheet for sheet in season_sheets(replace(season), "trade", season)}
    assert sheets["season-rail"].lines == ["The load works."]
    assert sheets["season-ciphers"].lines == lines[:2]


def test_what_cannot_be_told_of_the_rail_is_said(season):
    sheets = {sheet.name: sheet for sheet in season_sheets(season, "trade")}
    assert "not known: no note is on the rail." in sheets["season-rail"].lines[0]
    assert sheets["season-ciphers"].lines == []


def test_without_a_year_there_is_none_of_it():
    assert season_sheets(None, "trade") == season_pictures(None, "trade") == season_findings(None, "trade") == []
    assert season_cautions(None) == season_sources(None) == ()
