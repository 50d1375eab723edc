"""Does a floating rail cure it, and what load: tables and sentences of made-up years."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from a_year import RAIL, a_year

from keyaction.sim.floating.closed import dead_band
from keyaction.sim.floating.loads import Bound, LoadWindow
from keyaction.sim.floating.played import Shift
from keyaction.sim.seasons.cured import cure_sheet, cure_told
from keyaction.sim.seasons.held import RailAtWork
from keyaction.sim.seasons.worked import friction_allowed, struck_told, work_told

C2, G6 = 36, 91


@pytest.fixture(scope="module")
def season():
    return a_year()


def shift(way=-0.1e-3, play=0.15e-3, lifted=(), at_stop=0):
    return Shift((C2,), 0.0, way, {G6: play}, {G6: play}, (G6,), lifted, at_stop, way, False)


def work(smallest=8.0, windless=30.0, margin=40.0, load=20.0, **more):
    bounds = Bound(smallest, G6), Bound(9.0, C2), Bound(windless, G6), Bound(margin, C2)
    window = LoadWindow((C2,), 6.0, *bounds, 3)
    ones = np.ones(2)
    held = SimpleNamespace(rail=replace(RAIL, load=load), notes=(C2, G6), gains=ones, ways=np.array([0.5, 0.6]))
    return RailAtWork(held, {C2: 6.0}, {C2: 2.0}, window, shift(**more), shift(way=0.0, play=0.0), {})


def test_a_rail_that_cures_it():
    fixed, floating = a_year(cipher="all"), a_year(cipher="none")
    told = cure_told(fixed, floating, "trade")
    assert told[0] == "The floating rail cures it: 6 notes that sound with it made fast keep their seats."
    assert [row[6] for row in cure_sheet(fixed, floating, "trade").rows] == [6.0, 0.0]


@pytest.mark.parametrize(
    ("fixed", "floating", "text"),
    [
        ("all", "some", "It cures part: of 6 notes that sound with the rail made fast 1 still do."),
        ("some", "all", "It does not cure it: 1 note sound with the rail made fast, 6 with it floating."),
        ("none", "none", "With the rail made fast no note sounds unplayed in this year: there is no cipher to cure."),
        ("none", "some", "it works against the action"),
    ],
)
def test_what_a_rail_does_to_ciphers(fixed, floating, text):
    assert text in cure_told(a_year(cipher=fixed), a_year(cipher=floating), "trade")[0]


def test_drift_is_told_beside_it(season):
    told = cure_told(a_year(rail=False), season, "trade")[1]
    assert told.startswith("Play or level drifts over ") and "with it floating" in told


@pytest.mark.parametrize(
    ("load", "text"),
    [
        (20.0, "The load of 2039 gf (2.04 kg) works."),
        (5.0, "The load of 510 gf (0.51 kg) is too small: 816 gf to 3059 gf works."),
        (35.0, "The load of 3569 gf (3.57 kg) is too large: 816 gf to 3059 gf works."),
    ],
)
def test_the_load_against_its_window(season, load, text):
    first, *others = work_told(season, work(load=load), "trade")
    told = " ".join(others)
    assert first == text
    assert "friction taken at its worst: 816 gf (0.82 kg) (G6)" in told
    assert "3059 gf (3.06 kg) with the wind off (G6)" in told and "4079 gf (4.08 kg) over the year (C2)" in told
    share = {20.0: "612 gf", 5.0: "153 gf", 35.0: "1071 gf"}[load]  # half the load times 0.6
    assert f"G6 has most at its key, {share}" in told and "A finger can tell it from 918 gf on (C2)" in told


def test_guides_that_rub_with_the_load_let_no_rail_float():
    fixed, floating = a_year(cipher="all"), a_year(cipher="none")
    for friction, text in ((25.0, "with 2549 gf, and its load is 2039 gf. 6 notes"), (20.0, "with 2039 gf")):
        rubbing = replace(floating, rail=replace(floating.rail, rail=replace(RAIL, friction=friction)))
        told = cure_told(fixed, rubbing, "trade")
        assert told[0].startswith("It does not float: its guides rub ") and text in told[0]
        assert "cures it" not in " ".join(told)
    free = replace(floating, rail=replace(floating.rail, rail=replace(RAIL, friction=19.9)))
    assert "cures it" in cure_told(fixed, free, "trade")[0]


def test_friction_that_the_guides_may_have():
    """Two springs, k g 2 and 1.5 N/mm, gains 1 and 0.5, at rods that go 0.5 and 0.6 of the key's way."""
    curves = [SimpleNamespace(slope=slope) for slope in (lambda _: 2e3, lambda _: 1.5e3)]
    rail = replace(RAIL, friction=0.5, rate=0.0)
    held = SimpleNamespace(
        rail=rail, notes=(C2, G6), gains=np.array([1.0, 0.5]), ways=np.array([0.5, 0.6]), curves=curves
    )
    note = SimpleNamespace(tightness=SimpleNamespace(way=0.5), stretch=np.zeros(1), figures={"tightening": np.zeros(1)})
    season = SimpleNamespace(notes={C2: note, G6: note})
    found = friction_allowed(season, SimpleNamespace(held=held))
    stiffness = 2e3 * 1.0 + 1.5e3 * 0.5
    assert found == pytest.approx(0.1e-3 * 0.5 / 1.0 * stiffness)
    band = dead_band(replace_friction(held, found), np.zeros(2))  # either way, of the rail: at the key of the first
    assert band * 1.0 / 0.5 == pytest.approx(0.1e-3)


def replace_friction(held, friction):
    return SimpleNamespace(**{**vars(held), "rail": replace(held.rail, friction=friction)})


def test_what_the_guides_may_rub_with_is_said(season):
    told = " ".join(work_told(season, work(), "trade", 2.0))
    assert "guides may rub with 204 gf at most, which holds it within ±0.1 mm at the key" in told
    assert "well below the load as well. They rub with 51 gf." in told
    assert "guides" not in " ".join(work_told(season, work(), "trade"))


def test_no_load_that_works_is_told(season):
    assert "No load does both" in " ".join(work_told(season, work(smallest=50.0), "trade"))
    told = " ".join(work_told(season, work(windless=float("inf"), margin=float("inf")), "trade"))
    assert "Nothing bounds the load from above." in told


def test_what_played_notes_do(season):
    told = " ".join(work_told(season, work(lifted=(G6,), at_stop=1), "trade"))
    assert "The chord moves the rail by 0.1 mm against its load; G6 gets most play, 0.15 mm at the key" in told
    assert "G6 then sound; it comes to its stop." in told
    assert "does not move the rail; no other note gets play." in told


def test_nuts_turned_while_the_rail_is_held_are_told(season):
    one = SimpleNamespace(worst=(C2, 0, -0.8e-3), day=0, nearer=(0.0, 0.0))
    every = SimpleNamespace(nearer=(-0.4e-3, 0.4e-3))
    told = " ".join(work_told(season, replace(work(), turned_one=one, turned_all=every), "trade"))
    assert "a single note's (C2) leaves it 0.8 mm too slack at the key beside the others" in told
    assert told.endswith("all notes' bring the rail 0.4 mm nearer to a stop.")
    assert "Nuts are set" not in " ".join(work_told(season, work(), "trade"))


def test_struck_notes_are_told():
    quiet = SimpleNamespace(seat_load=0.5, play=0.1e-3)
    found = SimpleNamespace(
        struck=("C4",), at_pluck=-0.2e-3, held=-0.1e-3, rebound=0.15e-3, hits=False, stops=True,
        quiet={"D4": quiet}, sounding=(), by_motion=lambda slowly: slowly, greatest_play=0.1e-3, farthest=0.25e-3,
    )  # fmt: skip
    told = " ".join(struck_told(found, None, "trade"))
    assert "0.25 mm with its load at most" in told
    assert (
        "moves the rail 0.2 mm against its load until" in told
        and "0.15 mm with its load at most" in told
        and "No quiet note sounds: D4 presses least, 51 gf" in told
    )
    found.sounding = ("D4",)
    alone = " ".join(struck_told(found, ("D4",), "trade"))
    assert "D4 by the rail's motion alone: pressed slowly the same keys leave them silent" in alone
    assert "alone" not in " ".join(struck_told(found, (), "trade"))
