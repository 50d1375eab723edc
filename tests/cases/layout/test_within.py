"""A case in its instrument: the keyboard, tables, materials and settings that it is given."""

from dataclasses import replace

import pytest
from laid_case import LAYOUT, TRAIN, laid

from keyaction.cases.action.reader import read_case
from keyaction.cases.layout.within import Within
from keyaction.cases.text.defects import CaseProblem
from keyaction.models.instrument.bass import bass_octave
from keyaction.models.instrument.keyboard import Keyboard, tails
from keyaction.models.notes import note_name

GREAT = Within("house.toml", "great", Keyboard("I", tuple(range(36, 92)), 0.168, middle=0.01))
C4 = 60
BOARD = {"row": "30 mm", "clearance": "1 mm"}
"""Rods so thin that they leave room for any order."""


def test_its_keyboard_takes_the_place_of_the_cases_own(tmp_path):
    case = laid(tmp_path, LAYOUT + '[layout.keyboard]\noctave = "150 mm"\n', within=GREAT)
    assert case.layout.keyboard == GREAT.keyboard and case.division == case.layout.division == "great"
    assert case.layout.places[C4].key == pytest.approx(tails(GREAT.keyboard)[C4])
    assert case.layout.chest.divisions == ("great",)


def test_tables_go_over_field_by_field(tmp_path):
    within = replace(
        GREAT, tables={"chest": {"order": "two-sides"}, "run": {"key": {"back": "290 mm"}}, "board": BOARD}
    )
    case = laid(tmp_path, within=within)
    assert case.layout.order == "two-sides" and case.layout.chest.bar == 0.012
    assert case.layout.board.sizes.row == 0.03
    key = case.layout.paths[C4].turns[0]
    assert key.near[1:] == (0.290, -0.030)


def test_an_instrument_may_give_the_whole_layout(tmp_path):
    tables = {
        "chest": {"order": "chromatic", "bar": "12 mm", "back": "1500 mm", "up": "900 mm"},
        "run": {
            "key": {"back": "300 mm", "up": "-30 mm"},
            "lower-square": {"back": "500 mm", "up": "-640 mm"},
            "upper-square": {"back": "1450 mm", "up": "-640 mm"},
            "roller": {"back": "1440 mm", "up": "300 mm"},
        },
    }
    case = laid(tmp_path, "", within=replace(GREAT, tables=tables))
    assert case.layout.figures == laid(tmp_path, within=GREAT).layout.figures
    assert case.drawn is not None


def test_defects_of_what_it_gives_are_told_of_the_instrument(tmp_path):
    within = replace(GREAT, tables={"chest": {"order": "sideways"}, "run": {"squire": {"back": "1 m", "up": "1 m"}}})
    with pytest.raises(CaseProblem) as caught:
        laid(tmp_path, LAYOUT.replace('"12 mm"', '"12 kg"'), within=within)
    told = [str(one) for one in caught.value.defects]
    assert any(line.startswith("house.toml: [[division]] great, field 'chest.order' = \"sideways\"") for line in told)
    assert any(line.startswith("house.toml: [[division]] great, field 'run.squire'") for line in told)
    assert any(line.startswith("laid.toml: [layout.chest], field 'bar'") for line in told)


def test_notes_that_its_keyboard_lacks_are_left_out_and_told(tmp_path):
    notes, stands = bass_octave("short C/E", 48, 84)
    within = replace(GREAT, keyboard=Keyboard("II", notes, 0.165, stands=stands), tables={"board": BOARD})
    case = laid(tmp_path, within=within)
    assert [note_name(note) for note in case.compass[:4]] == ["C3", "D3", "E3", "F3"]
    told = "left out, since the keyboard 'II' of house.toml has no such key: C#3, D#3, F#3, G#3"
    assert any(told in line for line in case.warnings)
    short = replace(GREAT, keyboard=Keyboard("III", tuple(range(48, 60)), 0.165))
    assert len(laid(tmp_path, within=short).compass) == 12


def test_a_listed_order_of_the_whole_case_leaves_them_out_too(tmp_path):
    names = ", ".join(f'"{note_name(note)}"' for note in range(72, 47, -1))
    short = replace(GREAT, keyboard=Keyboard("III", tuple(range(48, 60)), 0.165), tables={"board": BOARD})
    case = laid(tmp_path, LAYOUT.replace('"chromatic"', f"[{names}]"), within=short)
    assert [note for _, note in case.layout.chest.order] == list(range(59, 47, -1))


def test_a_keyboard_without_any_of_its_notes_is_a_defect(tmp_path):
    with pytest.raises(CaseProblem, match="the keyboard has none of its notes"):
        laid(tmp_path, within=replace(GREAT, keyboard=Keyboard("IV", (36, 37), 0.165)))


def test_one_chest_for_two_divisions(tmp_path):
    both = replace(GREAT, tables={"chest": {"divisions": ["great", "positive"], "bar": "3 mm"}})
    great = laid(tmp_path, within=both).layout
    positive = laid(tmp_path, within=replace(both, division="positive")).layout
    assert great.chest == positive.chest and great.chest.divisions == ("great", "positive")
    for note, place in great.places.items():
        assert positive.places[note].pallet - place.pallet == pytest.approx(0.017)


def test_its_materials_join_and_the_cases_own_go_before(tmp_path):
    def own(density):
        return {"kind": "wood", "source": "weighed", "density": density, "E": "9 GPa", "G": "0.6 GPa"}

    within = replace(GREAT, materials={"house-pine": own("400 kg/m^3"), "house-oak": own("700 kg/m^3")})
    more = (
        '[materials.house-oak]\nkind = "wood"\nsource = "ours"\ndensity = "720 kg/m^3"\nE = "11 GPa"\nG = "0.8 GPa"\n'
    )
    case = laid(tmp_path, LAYOUT + more, {'material = "eastern-white-pine"': 'material = "house-pine"'}, within=within)
    assert case.library.get("house-pine")["density"].value == 400
    assert case.library.get("house-oak")["density"].value == 720


def test_its_settings_go_over_the_case_and_below_what_is_set(tmp_path):
    within = replace(GREAT, settings=(("box.pressure", "80 mmH2O"), ("key.dip", "10 mm")))
    case = laid(tmp_path, within=within, set_={"key.dip": "9 mm"})
    assert case.part("key").fields["dip"][C4].value == pytest.approx(0.009)
    assert case.part("box").fields["pressure"][C4].value == pytest.approx(784.532)
    assert case.settings == (("box.pressure", "80 mmH2O"), ("key.dip", "10 mm"), ("key.dip", "9 mm"))
    with pytest.raises(CaseProblem, match=r"house.toml: set, field 'box.presure' = \"80 mmH2O\""):
        laid(tmp_path, within=replace(GREAT, settings=(("box.presure", "80 mmH2O"),)))


def test_its_text_belongs_to_what_the_case_says(tmp_path):
    plain, inside = laid(tmp_path), laid(tmp_path, within=replace(GREAT, text='title = "House"'))
    assert inside.fingerprint != plain.fingerprint
    again = laid(tmp_path, within=replace(GREAT, text='# remark\ntitle   = "House"'))
    assert again.fingerprint == inside.fingerprint
    assert laid(tmp_path, within=replace(GREAT, text='title = "Home"')).fingerprint != inside.fingerprint
    assert (
        laid(tmp_path, within=replace(GREAT, division="swell", text='title = "House"')).fingerprint
        != inside.fingerprint
    )


def test_a_case_without_a_layout_stays_without(tmp_path):
    case = read_case("demo-wood", within=GREAT)
    plain = read_case("demo-wood")
    assert case.layout is None and case.parts == plain.parts and case.warnings == plain.warnings
    path = tmp_path / "asks.toml"
    path.write_text(TRAIN, encoding="utf-8")
    with pytest.raises(CaseProblem, match=r"takes roller\.length of a layout, and there is none"):
        read_case(path, within=GREAT)
