"""An instrument: keyboards, divisions with their cases, what they have in common, and all its defects at once."""

from pathlib import Path

import pytest
from shipped import shipped_cases
from short_case import write_case
from small_instrument import LAYOUT, ORGAN, write_instrument

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.cases.instrument.reader import is_instrument, read_instrument
from keyaction.cases.text.defects import CaseProblem
from keyaction.models.formulas import air


def value(case, part, field, note=60):
    return case.values(note, case.part(part))[field].value


def told(path: Path) -> list[str]:
    """The lines with which an instrument is refused."""
    with pytest.raises(CaseProblem) as caught:
        read_instrument(path)
    return str(caught.value).split("\n")


def refused(folder: Path, *changes: tuple[str, str], **options: str) -> list[str]:
    return told(write_instrument(folder, *changes, **options))


# -- what is read ----------------------------------------------------------------------------------------
def test_divisions_and_keyboards(tmp_path):
    found = read_instrument(write_instrument(tmp_path))
    assert (found.title, found.naming, list(found.divisions)) == (
        "Three small divisions",
        "scientific",
        ["great", "II", "pedal"],
    )
    assert [found.divisions[name].compass for name in found.divisions] == [tuple(range(60, 68))] * 2 + [
        tuple(range(60, 65))
    ]
    assert [(one.keyboard, one.enclosed, one.shares) for one in found.entries.values()] == [
        ("I", False, ""),
        ("I", True, ""),
        ("feet", False, ""),
    ]
    assert {name: (one.notes[0], one.notes[-1], one.pedals) for name, one in found.keyboards.items()} == {
        "I": (60, 67, False),
        "feet": (60, 64, True),
    }
    assert [case.division for case in found.divisions.values()] == list(found.divisions)
    assert {case.within.title for case in found.divisions.values()} == {"Three small divisions"}
    assert "II (8 notes)" in repr(found)


def test_climate_and_settings_go_over_the_cases(tmp_path):
    found = read_instrument(write_instrument(tmp_path)).divisions
    assert [round(value(case, "box", "pressure")) for case in found.values()] == [
        785,
        686,
        686,
    ]  # 80 and 70 mm of water
    assert {value(case, "box", "temperature") for case in found.values()} == {285.15}
    density = train_of(found["II"], 60).role("box").values.derived["rho_air"].value
    assert density == pytest.approx(air.density(285.15, 101325.0, 0.6))


def test_what_a_division_sets_goes_over_the_climate(tmp_path):
    change = ('{ "box.pressure" = "80 mmH2O" }', '{ "box.pressure" = "80 mmH2O", box.temperature = "25 degC" }')
    found = read_instrument(write_instrument(tmp_path, change)).divisions
    assert [value(case, "box", "temperature") for case in found.values()] == [298.15, 285.15, 285.15]


def test_a_box_of_another_name_has_the_climate_too(tmp_path):
    path = write_instrument(tmp_path)
    write_case(tmp_path, ('part = "box"\n', 'part = "box"\nname = "wind"\n'), name="swell.toml")
    assert value(read_instrument(path).divisions["II"], "wind", "temperature") == 285.15


def test_common_materials(tmp_path):
    found = read_instrument(write_instrument(tmp_path)).divisions
    assert value(found["pedal"], "key", "material") == "yew"
    assert {case.library.get("yew")["density"].value for case in found.values()} == {700.0}
    own = '\n[materials.yew]\nkind = "wood"\nsource = "another tree"\ndensity = "650 kg/m^3"\nE = "9 GPa"\n'
    write_case(tmp_path, more=own, name="great.toml")
    found = read_instrument(tmp_path / "organ.toml").divisions
    assert [case.library.get("yew")["density"].value for case in found.values()] == [650.0, 700.0, 700.0]


def test_a_shipped_case_may_be_a_division(tmp_path):
    change = ('case = "great.toml"\nkeyboard = "I"\n', 'case = "demo-wood"\nkeyboard = "wide"\n')
    more = '\n[[keyboard]]\nname = "wide"\nlow = "C2"\nhigh = "G6"\n'
    found = read_instrument(write_instrument(tmp_path, change, more=more)).divisions["great"]
    assert len(found.compass) == 56
    assert found.title == read_case("demo-wood").title


def test_it_is_told_from_an_action_case(tmp_path):
    path = write_instrument(tmp_path)
    assert is_instrument(path)
    assert not is_instrument(tmp_path / "great.toml")
    assert not is_instrument("demo-wood")
    assert not is_instrument(tmp_path / "missing.toml")
    (tmp_path / "torn.toml").write_text("[instrument\n")
    assert not is_instrument(tmp_path / "torn.toml")


def test_without_what_is_common_a_division_equals_its_case(tmp_path):
    bare = ORGAN[: ORGAN.index("[climate]")] + ORGAN[ORGAN.index("[[keyboard]]") :]
    bare = bare.replace('set = { "box.pressure" = "80 mmH2O" }\n', "").replace('set.key.material = "yew"\n', "")
    write_instrument(tmp_path)
    (tmp_path / "bare.toml").write_text(bare)
    found = read_instrument(tmp_path / "bare.toml").divisions["great"]
    alone = read_case(tmp_path / "great.toml")
    assert found.parts == alone.parts
    assert train_of(found, 60).parameters == train_of(alone, 60).parameters
    assert (found.compass, found.strokes, found.warnings) == (alone.compass, alone.strokes, alone.warnings)


def test_the_fingerprint_has_division_and_instrument(tmp_path):
    found = read_instrument(write_instrument(tmp_path)).divisions
    other = read_instrument(write_instrument(tmp_path, ('"12 degC"', '"13 degC"'))).divisions
    prints = {case.fingerprint for case in (*found.values(), *other.values(), read_case(tmp_path / "great.toml"))}
    assert len(prints) == 7


# -- what is refused -------------------------------------------------------------------------------------
def test_all_defects_of_the_instrument_and_its_cases_at_once(tmp_path):
    path = write_instrument(
        tmp_path,
        ('temperature = "12 degC"', 'temperature = "12 mm"'),
        ('"box.pressure"', '"box.presure"'),
        ('case = "pedal.toml"\nkeyboard = "feet"', 'case = "pedl.toml"\nkeyboard = "fet"'),
        more='\n[[division]]\nname = "great"\ncase = "great.toml"\nkeyboard = "I"\n\n[stops]\n',
    )
    write_case(tmp_path, ('front = "400 mm"', 'front = "400 N"'), name="swell.toml")
    lines = told(path)
    for begins in (
        "organ.toml: [stops]: unknown table or field of an instrument",
        "organ.toml: [climate], field 'temperature' = \"12 mm\"",
        "organ.toml: [[division]] great, field 'set.box.presure'",
        "swell.toml: [[train]] key, field 'front' = \"400 N\"",
        "organ.toml: [[division]] pedal, field 'case' = \"pedl.toml\": no such file; did you mean 'pedal.toml'?",
        "organ.toml: [[division]] pedal, field 'keyboard' = \"fet\": there is no such keyboard; did you mean 'feet'?",
        "organ.toml: [[division]] great, field 'name' = \"great\": named twice",
    ):
        assert sum(line.startswith(begins) for line in lines) == 1, (begins, lines)
    assert len(lines) == 7, lines


def test_defects_of_a_case_that_two_divisions_have_are_told_once(tmp_path):
    path = write_instrument(tmp_path, ('case = "swell.toml"', 'case = "great.toml"'))
    write_case(tmp_path, ('arm = "250 mm"', 'arm = "250 kg"'), name="great.toml")
    assert len(told(path)) == 1


def test_a_compass_beyond_the_keyboard_is_named_with_its_notes(tmp_path):
    (line,) = refused(tmp_path, ('case = "pedal.toml"', 'case = "swell.toml"'))
    assert line == (
        "organ.toml: [[division]] pedal, field 'case' = \"swell.toml\": its compass goes beyond the keyboard 'feet', "
        "C4 to E4, by F4 to G4"
    )


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ('name = "great organ"', "a name is of letters, digits and hyphens"),
        ('name = "-great"', "a name is of letters, digits and hyphens"),
        ("name = 1", "a name is of letters, digits and hyphens"),
        ('name = "about"', "a result keeps this name for itself"),
        ('name = "ii"', "named twice"),
        ("", "missing; each division has a name of its own"),
    ],
)
def test_names_that_cannot_be(tmp_path, name, why):
    lines = refused(tmp_path, ('name = "great"', name))
    assert len(lines) == 1
    assert why in lines[0]


def test_a_case_in_another_naming(tmp_path):
    path = write_instrument(tmp_path)
    write_case(tmp_path, ('"Invented short action"', '"Short"\nnote_names = "german"'), name="great.toml")
    (line,) = told(path)
    assert 'field \'case\' = "great.toml": has note_names = "german" and the instrument "scientific"' in line


def test_an_instrument_is_no_case_of_a_division(tmp_path):
    (line,) = refused(tmp_path, ('case = "great.toml"', 'case = "organ.toml"'))
    assert line.endswith("is an instrument; an action case is needed")


def test_an_action_case_is_no_instrument(tmp_path):
    (line,) = told(write_case(tmp_path))
    assert line.startswith("short.toml: is an action case, not an instrument")


def test_an_instrument_without_keyboards_or_divisions(tmp_path):
    path = tmp_path / "bare.toml"
    path.write_text('format = 1\n[instrument]\ntitle = "Nothing"\n')
    assert [line.split(":")[1].strip() for line in told(path)] == ["[[keyboard]]", "[[division]]"]


SHARES = ('case = "swell.toml"\nkeyboard = "I"', 'case = "swell.toml"\nkeyboard = "I"\nshares = "{}"')


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("grat", "there is no such division; did you mean 'great'?"),
        ("II", "no chest is left: the grooves of II on that of II"),
    ],
)
def test_chests_that_cannot_be_shared(tmp_path, name, why):
    (line,) = refused(tmp_path, (SHARES[0], SHARES[1].format(name)))
    assert why in line


def test_chests_shared_in_a_circle(tmp_path):
    lines = refused(
        tmp_path,
        (SHARES[0], SHARES[1].format("great")),
        ('set = { "box.pressure" = "80 mmH2O" }', 'shares = "II"'),
    )
    assert [line.split("the grooves of ")[1] for line in lines] == [
        "great on that of II on that of great",
        "II on that of great on that of II",
    ]


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        ('[[keyboard]]\nname = "I"', '[keyboard]\nname = "I"', "headed [[keyboard]] in double brackets"),
        ("enclosed = true", 'enclosed = "yes"', "field 'enclosed'"),
        ("enclosed = true", "encloses = true", "unknown field of a division; did you mean 'enclosed'?"),
        ("enclosed = true", "set = 3", "field 'set'"),
        ("enclosed = true", 'set = { "key.front" = ["1 mm"] }', "field 'set.key.front'"),
        ("enclosed = true", "chest = 3", "field 'chest'"),
        ('case = "swell.toml"\n', "", "field 'case': missing"),
        ("format = 1", "format = 2", "too new for this version"),
    ],
)
def test_values_that_are_refused(tmp_path, old, new, why):
    changes = [(old, new)]
    if old.startswith("[[keyboard]]"):
        changes.append(('[[keyboard]]\nname = "feet"', '[other]\nname = "feet"'))
    lines = refused(tmp_path, *changes)
    assert any(why in line for line in lines), lines


# -- layouts ---------------------------------------------------------------------------------------------
def laid(folder: Path, *changes: tuple[str, str], **options: str) -> Path:
    """The instrument with cases that say how they are laid out, all but the pedal's."""
    path = write_instrument(folder, *changes, **options)
    write_case(folder, more=LAYOUT, name="great.toml")
    write_case(folder, more=LAYOUT.replace('"30 mm"', '"30 mm"\nbar = "9 mm"'), name="swell.toml")
    return path


def test_a_division_stands_on_the_keyboard_of_the_instrument(tmp_path):
    path = laid(tmp_path, ('name = "I"\nlow', 'name = "I"\noctave = "160 mm"\nmiddle = "-10 mm"\nlow'))
    found = read_instrument(path).divisions
    for name in ("great", "II"):
        keys = [place.key for _, place in sorted(found[name].layout.places.items())]
        # five naturals are 5/7 of an octave wide; the middle of C and G of twelve even tails is at 4/12
        assert (keys[0] + keys[-1]) / 2 == pytest.approx(-0.010 + 0.160 * (4 / 12 - 2.5 / 7))
        assert keys[7] - keys[0] == pytest.approx(7 * 0.160 / 12)
    assert [found[name].layout.chest.bar for name in ("great", "II")] == [0.008, 0.009]


def test_tables_of_a_division_go_over_those_of_its_case(tmp_path):
    found = read_instrument(laid(tmp_path, ("enclosed = true", 'chest.bar = "12 mm"'))).divisions
    assert [found[name].layout.chest.bar for name in ("great", "II")] == [0.008, 0.012]
    assert [found[name].layout.chest.middle for name in ("great", "II")] == [0.03, 0.03]


def test_grooves_of_two_divisions_by_turns_on_one_chest(tmp_path):
    path = laid(tmp_path, ("enclosed = true", 'shares = "great"'))
    found = read_instrument(path)
    great, other = (found.divisions[name].layout for name in ("great", "II"))
    assert great.chest == other.chest
    assert great.chest.order[:4] == (("great", 60), ("II", 60), ("great", 61), ("II", 61))
    apart = [other.places[note].pallet - great.places[note].pallet for note in range(60, 68)]
    assert apart == pytest.approx([0.014 + 0.008] * 8)  # a groove and a bar


def test_shared_grooves_that_are_not_alike(tmp_path):
    path = laid(tmp_path, ("enclosed = true", 'shares = "great"\nset.groove.width = "13 mm"'))
    (line,) = told(path)
    assert line == (
        "organ.toml: [[division]] II, field 'shares' = \"great\": both need grooves alike in width; not so: C4 to G4"
    )


def test_shared_grooves_of_unlike_compass(tmp_path):
    path = laid(tmp_path, ('keyboard = "I"\nenclosed = true', 'keyboard = "odd"\nshares = "great"'))
    path.write_text(path.read_text() + '\n[[keyboard]]\nname = "odd"\nlow = "C4"\nhigh = "G4"\nwithout = ["C#4"]\n')
    write_case(tmp_path, more=LAYOUT, name="swell.toml")
    (line,) = told(path)
    assert "both need the same notes; C#4: of one alone" in line


def test_a_defect_of_a_table_is_told_where_it_stands(tmp_path):
    lines = told(laid(tmp_path, ("enclosed = true", 'chest.bar = "8 N"\nchest.ordr = "chromatic"')))
    assert [line.split(" = ")[0] for line in lines] == [
        "organ.toml: [[division]] II, field 'chest.ordr'",
        "organ.toml: [[division]] II, field 'chest.bar'",
    ]


def test_notes_that_the_keyboard_lacks_are_left_out_and_told(tmp_path):
    path = write_instrument(tmp_path, ('high = "G4"', 'high = "G4"\nwithout = ["C#4"]'))
    case = read_instrument(path).divisions["great"]
    assert case.compass == (60, 62, 63, 64, 65, 66, 67)
    assert any("has no such key: C#4" in line for line in case.warnings)


def test_a_chest_of_a_division_without_layout_cannot_be_shared(tmp_path):
    lines = refused(tmp_path, (SHARES[0], SHARES[1].format("great")))
    assert [line for line in lines if "has no chest: great.toml has no [layout]" in line]


@pytest.mark.parametrize("empty", ['case = ""', 'keyboard = ""'])
def test_a_division_without_a_case_or_keyboard_is_told(tmp_path, empty):
    old = 'case = "swell.toml"' if "case" in empty else 'case = "swell.toml"\nkeyboard = "I"'
    new = empty if "case" in empty else f'case = "swell.toml"\n{empty}'
    assert any(f"field '{empty.split()[0]}'" in line and "missing" in line for line in refused(tmp_path, (old, new)))


def test_a_shipped_instrument_is_found_by_name_and_is_no_shipped_case(tmp_path, monkeypatch):
    monkeypatch.setattr("keyaction.cases.text.find._SHIPPED", tmp_path)
    write_instrument(tmp_path)
    assert set(shipped_cases()) == {"great", "swell", "pedal"}
    assert read_instrument("organ").title == "Three small divisions"
    with pytest.raises(CaseProblem, match=r"organ\.toml: is an instrument, and an action case is needed here"):
        read_case("organ")
