"""Variants over one year: figures by hand, and a shipped case whose closed forms meet its own season."""

import re
from dataclasses import replace
from importlib.resources import files

import numpy as np
import pytest
from made_up_season import MARGIN, a_division, a_note, a_year

from keyaction.cases.action.reader import read_case
from keyaction.models.climate.year import DAY, Year
from keyaction.models.frame.frame import Frame
from keyaction.models.frame.member import Member
from keyaction.models.frame.rail import Rail
from keyaction.sim.seasons.adjust import adjust
from keyaction.sim.seasons.advice import Limits
from keyaction.sim.seasons.cancelling import RODS, Choice, Search, moves
from keyaction.sim.seasons.compared import CANCEL, CARBON_FIXED, NO_RAIL, OF_CARBON, OF_WOOD, compared, outcome
from keyaction.sim.seasons.compared_sheets import CARBON_SAID, compared_sheet
from keyaction.sim.seasons.engine import seasons
from keyaction.sim.seasons.exchange import THICK, groups_of, strain_of, thick, thickness_assumed, with_members
from keyaction.sim.tightening.tightness import stretched, tightness

NOTES = [48, 60]
REGULATED = 291.15, 0.52


# -- by hand -------------------------------------------------------------------------------------------------
def test_figures_of_a_variant_by_hand():
    year = a_year([0.5, 0.3, 0.7])
    notes = [
        a_note(60, [0, 1.0e-3, -0.2e-3]),
        a_note(61, [0, 1.4e-3, 0.0]),
        replace(a_note(62, [0, 9, 9]), failed="no"),
    ]
    found = outcome("as it is", "", a_division(notes, year))
    assert found.mean_range == pytest.approx(1.3e-3)
    assert (found.worst_range, found.worst) == (pytest.approx(1.4e-3), "note 61")
    assert (found.margin, found.tightest, found.tightest_day) == (pytest.approx(MARGIN - 1.4e-3), "note 61", "day 2")
    assert found.play_range == pytest.approx(1.2e-3)  # 0 to 1.2 mm
    assert found.ciphers == (("note 61", 1),)
    assert (found.lift, found.lowest) == (pytest.approx(5e-3 - 0.2e-3), "note 60")
    assert found.failed == 1


# -- a shipped case with members of its own -----------------------------------------------------------------
@pytest.fixture(scope="module")
def case():
    return read_case("demo-wood")


@pytest.fixture(scope="module")
def year():
    """Warm and dry, then cool and damp: 12 instants, a month apart."""
    turn = np.linspace(0.0, 2 * np.pi, 12, endpoint=False)
    return Year("made up", np.arange(12) * 30 * DAY, 291.15 + 3 * np.cos(turn), 0.52 - 0.15 * np.cos(turn))


@pytest.fixture(scope="module")
def frame(case):
    """Invented: oak posts that carry the chest, and long ones that carry the keys above their rods."""
    oak = case.library.get("white-oak")
    chest, keys = (dict.fromkeys(case.compass, length) for length in (2.1, 3.0))
    carried = ("upper-square", "roller", "pallet")
    posts = Member("posts", oak, chest, "up", "along", carries=carried, thickness=0.06)
    return Frame(
        (posts, Member("key posts", oak, keys, "up", "along", carries=("key",), thickness=0.02)), None, *REGULATED
    )


@pytest.fixture(scope="module")
def season(case, year, frame):
    return seasons(case, year, NOTES, frame=frame)


@pytest.fixture(scope="module")
def side_by_side(case, season):
    return compared(case, base=season)


def test_the_groups_add_up_to_the_path_of_the_season(season):
    """Closed forms of all rods and members against the season's own way to the same figure."""
    strain = strain_of(season)
    path = sum(moves(one, strain) for one in groups_of(season))
    assert path == pytest.approx(season.over("tightening"), abs=1e-9)
    assert {one.name for one in groups_of(season)} == {RODS, "posts", "key posts", "pull-down"}


def test_what_the_search_promises_the_variant_keeps(side_by_side):
    as_is, chosen = (next(o for o in side_by_side.outcomes if o.name == name) for name in ("as it is", CANCEL))
    found = side_by_side.search
    assert found.as_is.worst == pytest.approx(as_is.worst_range, abs=1e-9)
    assert found.best.worst == pytest.approx(chosen.worst_range, abs=1e-9)
    assert chosen.worst_range < as_is.worst_range


def test_carbon_takes_away_what_cancelled(side_by_side):
    as_is, carbon = (next(o for o in side_by_side.outcomes if o.name == name) for name in ("as it is", OF_CARBON))
    assert carbon.worst_range > as_is.worst_range


def test_what_is_left_out_is_said(side_by_side):
    assert NO_RAIL in side_by_side.lines
    assert f"{OF_WOOD}: they are, as it is." in side_by_side.lines
    sheet = compared_sheet(side_by_side)
    assert [row[0] for row in sheet.rows] == ["as it is", OF_CARBON, CANCEL]
    assert CARBON_SAID in sheet.lines


@pytest.mark.parametrize(("fixed", "name"), [(False, "rail fixed"), (True, "rail floating")])
def test_a_rail_is_run_the_other_way_round_as_well(season, monkeypatch, fixed, name):
    asked = []

    def seasons(case, _year, _notes, _jobs, frame):
        asked.append((case, frame))
        return season

    monkeypatch.setattr("keyaction.sim.seasons.compared.seasons", seasons)
    rail = Rail(("lower-square",), "down", 2.4, 20.0, fixed=fixed)
    found = compared(season.case, base=replace(season, frame=replace(season.frame, rail=rail)))
    more = [] if fixed else [CARBON_FIXED]
    assert [one.name for one in found.outcomes] == ["as it is", name, OF_CARBON, *more, CANCEL]
    assert [frame.rail.fixed for _, frame in asked] == [not fixed, fixed, *[True for _ in more], fixed]
    of_carbon = asked[1][0]
    assert {str(g.value) for g in of_carbon.part("riser").fields["material"].values()} == {"carbon-rod"}
    changes = dict(found.search.best.changes)
    assert all(one.material.name == changes.get(one.name, "white-oak") for one in asked[-1][1].members)
    assert NO_RAIL not in found.lines


# -- what members may become of ---------------------------------------------------------------------------
def test_members_become_of_wood_or_steel_and_what_carries_pallets_of_wood(season):
    groups = {one.name: set(one.candidates) for one in groups_of(season)}
    woods = set(season.case.library.names("wood"))
    assert groups["posts"] == woods  # they carry the pallets
    assert groups["key posts"] == woods | {"steel"}


def of_steel(frame, case, **more):
    posts = replace(frame.members[0], material=case.library.get("steel"), grain="", thickness=0.0, **more)
    return replace(frame, members=(posts, frame.members[1]))


def test_wood_in_place_of_metal_without_a_thickness_gets_one(case, frame):
    changes = {"posts": "white-oak"}
    steel = of_steel(frame, case)
    assert with_members(case, steel, changes).members[0].thickness == 0.02  # as the key posts
    assert [one.name for one in thickness_assumed(case, steel, changes)] == ["posts"]
    alone = replace(steel, members=steel.members[:1])
    assert thick(alone.members[0], alone) == THICK == 0.05
    assert with_members(case, frame, changes).members[0].thickness == 0.06  # its own
    assert (
        thickness_assumed(case, frame, changes)
        == ()
        == thickness_assumed(case, of_steel(frame, case, lag=9.0), changes)
    )
    assert thickness_assumed(case, steel, {"posts": "steel"}) == ()


def test_metal_posts_are_compared_to_the_end(case, year, frame, monkeypatch):
    """Oak is taken for steel posts of which no thickness is given; the notes say how thick it is taken to be."""
    oak = Choice((("posts", "white-oak"),), (), 0.0, 0.0, 0)
    monkeypatch.setattr("keyaction.sim.seasons.compared.search", lambda *_: Search(oak, oak, oak, 1))
    found = compared(case, year, [60], frame=of_steel(frame, case))
    assert found.outcomes[-1].name == CANCEL and found.outcomes[-1].failed == 0
    assert any("posts, of steel without a thickness, becomes wood of 20 mm (assumed" in line for line in found.lines)


# -- notes of a rail that floats ---------------------------------------------------------------------------
@pytest.fixture(scope="module")
def few(tmp_path_factory):
    """The shipped division behind the player, cut to four notes; its rail lighter by as much."""
    text = (files("keyaction.cases") / "demo-instrument" / "behind.toml").read_text(encoding="utf-8")
    text = text.split("[season]")[0].replace('gaps = [{ after = "G#3", width = "76 mm" }]', "")
    text = text.replace('mass = "3.2 kg"', f'mass = "{3.2 * 4 / 56:.3f} kg"')
    names = {"C2": "C4", "C4": "C#4", "G6": "D#4"}
    text = re.sub(r'("?)\b(C2|C4|G6)\b("?)', lambda found: f'"{names[found[2]]}"', text)
    path = tmp_path_factory.mktemp("few") / "few.toml"
    path.write_text(text, encoding="utf-8")
    return read_case(path)


def test_some_notes_on_a_floating_rail_have_the_figures_of_the_whole_compass(few, year, monkeypatch):
    monkeypatch.setattr("keyaction.sim.seasons.compared.groups_of", lambda _: ())  # nothing that cancels is sought
    found = []

    def outcome_of(name, made, season):
        found.append((name, season))
        return outcome(name, made, season)

    monkeypatch.setattr("keyaction.sim.seasons.compared.outcome", outcome_of)
    whole = seasons(few, year)
    compared(few, base=whole)
    every = dict(found)
    compared(few, base=replace(whole, notes={61: whole.notes[61]}))
    some = dict(found)
    assert set(some) == {"as it is", "rail fixed", OF_CARBON, CARBON_FIXED}
    for name, season in some.items():
        assert list(season.notes) == [61] and len(every[name].notes) == 4
        for what, values in season.notes[61].figures.items():
            # Resting states stand where all notes ask for them: 1 um, or 1 in a million.
            assert values == pytest.approx(every[name].notes[61].figures[what], rel=1e-6, abs=1e-6, nan_ok=True), (
                name,
                what,
            )


def test_every_turned_nut_is_confirmed_by_its_press(season):
    """Pitch over way against the pluck of the train with that very nut turned."""
    found = adjust(season, 60)
    assert [one.pressed for one in found.joints] == pytest.approx([one.turn for one in found.joints], rel=0.01)
    assert len(found.joints) == 4
    places = {one.place.name: one.place for one in found.commons}
    assert places["key posts"].gains[60] == pytest.approx(-places["pins of upper-square"].gains[60], rel=1e-6)
    assert "posts" not in places  # they carry the chest


def test_the_turns_that_are_advised_leave_the_margin_that_was_asked_for(season):
    """Resting states of the train with that nut turned, against pitch over way."""
    wanted = 4e-3
    found = adjust(season, 60, limits=Limits(keep=wanted))
    known, nut = season.notes[60].tightness, found.joints[-1]
    train = stretched(known.train, known.rod, float(season.notes[60].stretch[found.day]))
    train = stretched(train, nut.rod, -nut.keeps * found.pitch)
    grid = np.linspace(0.0, wanted * known.way + 0.5e-3, 40)
    again = tightness({60: train}, {60: known.rod}, {60: known.way}, grid)[60]
    assert nut.keeps > 1.0 and again.sounds / known.way == pytest.approx(wanted, abs=10e-6)


def test_a_rail_as_common_place(season):
    """The riser hangs from the key's tail: pins of the square 1 mm down are 230/150 mm at its front; so are keys up."""
    rail = Rail(("lower-square",), "down", 2.4, 20.0, fixed=True)
    found = adjust(replace(season, frame=replace(season.frame, rail=rail)), 60)
    first, second = (one.place for one in found.commons[:2])
    assert (first.name, first.kind, second.kind) == ("rail", "rail", "frame")
    assert first.gains[60] == pytest.approx(230 / 150)
    assert second.gains[60] == pytest.approx(230 / 150)
    assert found.rail == "fixed"
