"""Sound cases: values in SI units, where they came from, names, defaults, overrides, settings."""

from __future__ import annotations

import pickle
from pathlib import Path

import pytest
from case_files import HEAD, LEVER, PARTS, lever, read

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.text.defects import CaseProblem
from keyaction.cases.text.find import find_case, shipped
from keyaction.models.fields.values import Given, Values
from keyaction.models.materials.library import default_library

C2, C4 = 36, 60


def given(case: Case, path: str, note: int = C2, part: str = "lever") -> Given:
    return case.values(note, case.part(part))[path]


def test_head(tmp_path: Path) -> None:
    case = lever(tmp_path, "")
    assert case.title == "Test"
    assert case.description == ""
    assert case.naming == "scientific"
    assert case.compass == tuple(range(36, 61))
    assert case.path == tmp_path / "demo.toml"
    assert case.text == (tmp_path / "demo.toml").read_text()


def test_title_falls_back_to_file_name(tmp_path: Path) -> None:
    case = read(tmp_path, HEAD.replace('title = "Test"', "") + LEVER)
    assert case.title == "demo"


@pytest.mark.parametrize(
    ("fields", "path", "value"),
    [
        ('style = "hung"', "style", "hung"),
        ('front = "230 mm"', "front", 0.230),
        ('front = "500 mm"', "front", 0.5),
        ('moment = "-150 N*mm"', "moment", -0.150),
        ("ratio = 2", "ratio", 2.0),
        ('ratio = "60 %"', "ratio", 0.60),
        ("pieces = 20", "pieces", 20),
        ('wood = "Sugar Maple"', "wood", "sugar-maple"),
        ("bushed = true", "bushed", True),
        ('remark = "rebuilt"', "remark", "rebuilt"),
        ('pin = { diameter = "2 mm" }', "pin.diameter", 0.002),
        ('pin.diameter = "2 mm"', "pin.diameter", 0.002),
        ('leads = [{ mass = "30 g" }, { mass = "40 g", at = "-12 cm" }]', "leads.1.at", -0.12),
    ],
)
def test_every_kind_of_field(tmp_path: Path, fields: str, path: str, value: object) -> None:
    found = given(lever(tmp_path, fields), path)
    assert found.value == pytest.approx(value) if isinstance(value, float) else found.value == value
    assert type(found.value) is type(value)
    assert found.origin == "case"


def test_defaults_say_so(tmp_path: Path) -> None:
    case = lever(tmp_path, 'leads = [{ mass = "30 g" }]')
    assert given(case, "pieces") == Given(3, "default: from memory", default=True)
    assert given(case, "pin.friction") == Given("cloth-on-pin", "default: common practice", default=True)
    assert given(case, "leads.0.at") == Given(0.1, "default", default=True)
    assert "front" not in case.values(C2, case.part("lever"))
    lines = [one.line for one in case.assumptions]
    assert "[[train]] lever, field 'pieces' = 3: default: from memory" in lines
    assert "[[train]] lever, field 'leads.0.at' = 100 mm: default" in lines
    assert "[strokes], field 'down' = 40 ms: default: common practice" in lines


def test_a_given_value_is_no_assumption(tmp_path: Path) -> None:
    case = lever(tmp_path, "pieces = 3", '[strokes]\ndown = "40 ms"')
    assert not [one.line for one in case.assumptions if "pieces" in one.line or "'down'" in one.line]


def test_values_feed_the_parts(tmp_path: Path) -> None:
    case = lever(tmp_path, 'leads = [{ mass = "30 g" }, { mass = "40 g" }]')
    values = Values("lever", case.values(C2, case.part("lever")), case.library)
    assert values.count_rows("leads") == 2
    assert values.material("pin.friction").kind == "friction"


def test_names_of_parts(tmp_path: Path) -> None:
    bars = ["", 'name = "bar-2"', "", 'name = "long-1"', ""]
    case = read(tmp_path, HEAD + LEVER + "".join(f'[[train]]\npart = "bar"\n{name}\n' for name in bars))
    assert [part.name for part in case.parts] == ["lever", "bar", "bar-2", "bar-3", "long-1", "bar-4"]
    assert [part.kind for part in case.parts] == ["lever"] + 5 * ["bar"]
    assert case.part("long-1").part is PARTS["bar"]


def test_unknown_part_or_note_asked_for(tmp_path: Path) -> None:
    case = lever(tmp_path, "")
    with pytest.raises(KeyError, match="did you mean 'lever'"):
        case.part("levr")
    with pytest.raises(KeyError, match="outside the compass C2 to C4"):
        case.values(61, case.part("lever"))


def test_control_points(tmp_path: Path) -> None:
    case = lever(tmp_path, 'front = { between = "linear", D2 = "200 mm", "C3" = "300 mm", B3 = "290 mm" }')
    assert given(case, "front", 38) == Given(0.2, "case, control point D2")
    assert given(case, "front", 43).value == pytest.approx(0.25)
    assert given(case, "front", 43).origin == "case, linear between D2 and C3"
    assert given(case, "front", 36) == Given(0.2, "case, held below the first control point D2")
    assert given(case, "front", 60) == Given(0.29, "case, held above the last control point B3")


def test_steps_of_materials_and_inner_fields(tmp_path: Path) -> None:
    fields = """wood = { between = "steps", C2 = "american-beech", C3 = "sugar-maple" }
    pin.diameter = { between = "steps", C2 = "2 mm", Fs3 = "3 mm" }
    leads = [{ mass = { between = "linear", C2 = "20 g", C4 = "44 g" } }]"""
    case = lever(tmp_path, fields)
    assert given(case, "wood", 47) == Given("american-beech", "case, in steps from C2 until C3")
    assert given(case, "wood", 59).value == "sugar-maple"
    assert given(case, "pin.diameter", 53).value == pytest.approx(0.002)
    assert given(case, "pin.diameter", 54).value == pytest.approx(0.003)
    assert given(case, "leads.0.mass", 48).value == pytest.approx(0.032)


def test_trade_names_of_notes(tmp_path: Path) -> None:
    text = HEAD.replace('title = "Test"', 'note_names = "trade"').replace("C2", "C").replace("C4", "c1")
    fields = 'front = { between = "linear", C = "200 mm", c = "300 mm", c1 = "290 mm" }\n'
    case = read(tmp_path, f'{text}{LEVER}{fields}[notes."f#".lever]\nfront = "10 cm"\n')
    assert case.naming == "trade"
    assert case.compass == tuple(range(36, 61))
    assert given(case, "front", 42).origin == "case, linear between C and c"
    assert given(case, "front", 54) == Given(0.1, "case, override for f#")


def test_german_names_of_notes(tmp_path: Path) -> None:
    text = HEAD.replace('title = "Test"', 'note_names = "german"').replace("C2", "C").replace("C4", "c1")
    fields = 'front = { between = "linear", C = "200 mm", H = "300 mm", c1 = "290 mm" }\n'
    case = read(
        tmp_path, f'{text}{LEVER}{fields}[notes.B.lever]\nfront = "10 cm"\n[notes.cis.lever]\nfront = "11 cm"\n'
    )
    assert given(case, "front", 47).value == pytest.approx(0.3)
    assert given(case, "front", 46) == Given(0.1, "case, override for B")
    assert given(case, "front", 49) == Given(0.11, "case, override for cis")


def csv_text(cells: dict[int, str] | None = None) -> str:
    names = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
    rows = [
        f"{names[note % 12]}{note // 12 - 1},{(cells or {}).get(note, note + 100)},sugar-maple"
        for note in range(36, 61)
    ]
    return "\n".join(["note,long,wood", "# measured with a tape", *rows]) + "\n"


def test_csv_column(tmp_path: Path) -> None:
    (tmp_path / "chest.csv").write_text(csv_text())
    fields = """front = { csv = "chest.csv", column = "long", unit = "mm" }
    wood = { csv = "chest.csv", column = "wood" }"""
    case = lever(tmp_path, fields)
    assert given(case, "front", 37).value == pytest.approx(0.137)
    assert given(case, "front", 37).origin == "CSV chest.csv column long"
    assert given(case, "wood", 37).value == "sugar-maple"
    assert case.files == {"chest.csv": csv_text()}


def test_csv_cells_with_units_percent_and_counts(tmp_path: Path) -> None:
    names = [line.split(",")[0] for line in csv_text().splitlines()[2:]]
    rows = "\n".join(f"{name},12 cm,60,7" for name in names)
    (tmp_path / "chest.csv").write_text(f"note,front,ratio,pieces\n{rows}\n")
    fields = """front = { csv = "chest.csv", column = "front" }
    ratio = { csv = "chest.csv", column = "ratio", unit = "%" }
    pieces = { csv = "chest.csv", column = "pieces" }"""
    case = lever(tmp_path, fields)
    assert given(case, "front").value == pytest.approx(0.12)
    assert given(case, "ratio").value == pytest.approx(0.6)
    assert given(case, "pieces").value == 7


def test_override_for_one_note(tmp_path: Path) -> None:
    fields = 'front = "200 mm"\npin = { diameter = "2 mm" }\nleads = [{ mass = "1 g" }, { mass = "2 g" }]'
    more = """[notes."C#3".lever]
    front = "210 mm"
    pin.friction = "leather-on-pin"
    leads = [{ mass = "9 g" }]
    """
    case = lever(tmp_path, fields, more)
    other = case.values(49, case.part("lever"))
    assert other["front"] == Given(0.21, "case, override for C#3")
    assert other["pin.diameter"].value == pytest.approx(0.002)
    assert other["pin.friction"].value == "leather-on-pin"
    assert other["leads.0.mass"].value == pytest.approx(0.009)
    assert "leads.1.mass" not in other
    assert given(case, "front", 48) == Given(0.2, "case")
    assert given(case, "leads.1.mass", 48).value == pytest.approx(0.002)
    assert given(case, "pieces", 49).origin == "default: from memory"


def test_override_may_be_the_only_value(tmp_path: Path) -> None:
    case = lever(tmp_path, "", '[notes.Cs3.lever]\nfront = "210 mm"')
    assert given(case, "front", 49).value == pytest.approx(0.21)
    assert "front" not in case.values(48, case.part("lever"))


def test_settings_win_over_file_and_overrides(tmp_path: Path) -> None:
    fields = 'front = { between = "linear", C2 = "200 mm", C4 = "300 mm" }\nleads = [{ mass = "1 g" }]'
    settings = [
        ("lever.front", "100 mm"),
        ("lever.front", "150 mm"),
        ("lever.pieces", "4"),
        ("lever.bushed", "false"),
        ("lever.ratio", "0.5"),
        ("lever.leads.0.mass", "7 g"),
        ("lever.style", "hung"),
        ("strokes.down", "30 ms"),
        ("strokes.speeds.fast", "300 mm/s"),
    ]
    case = lever(tmp_path, fields, '[notes.C3.lever]\nfront = "210 mm"', set_=settings)
    for note in case.compass:
        assert given(case, "front", note) == Given(0.15, "set for the whole compass")
    assert given(case, "pieces").value == 4
    assert given(case, "bushed").value is False
    assert given(case, "ratio").value == pytest.approx(0.5)
    assert given(case, "leads.0.mass").value == pytest.approx(0.007)
    assert given(case, "style").value == "hung"
    assert case.strokes.down == pytest.approx(0.03)
    assert case.strokes.speeds == pytest.approx((0.05, 0.1, 0.3))
    assert case.settings == tuple(settings)


def test_settings_may_be_a_mapping(tmp_path: Path) -> None:
    pairs = [("lever.front", "150 mm"), ("strokes.down", "30 ms")]
    one, other = (lever(tmp_path, "pieces = 2", set_=given) for given in (pairs, dict(pairs)))
    assert one == other
    assert other.settings == tuple(pairs)


def test_properties_of_materials_may_be_set(tmp_path: Path) -> None:
    own = '[materials.my-oak]\nkind = "wood"\nsource = "weighed"\ndensity = "700 kg/m^3"\nE = "11 GPa"'
    values = {
        "materials.my-oak.E": "9 GPa",
        "materials.redcedar.density": "410 kg/m^3",
        "materials.my-oak.density": "1 g/cm^3",
    }
    case = lever(tmp_path, 'wood = "my-oak"', own, set_=values)
    oak, cedar = case.library.get("my-oak"), case.library.get("western-redcedar")
    assert (oak["E"].value, oak["density"].value) == pytest.approx((9e9, 1000.0))
    assert cedar["density"].value == pytest.approx(410.0)
    assert (oak["E"].source, oak["E"].status, oak["E"].spread) == ("set for the whole compass", "given", None)
    assert default_library().get("western-redcedar")["density"].value != pytest.approx(410.0)
    assert cedar["E"] == default_library().get("western-redcedar")["E"]


def test_strokes(tmp_path: Path) -> None:
    more = '[strokes]\ndepth = "120 %"\nspeeds = ["40 mm/s", "80 mm/s", "0.2 m/s"]'
    strokes = lever(tmp_path, "", more).strokes
    assert strokes.depth == pytest.approx(1.2)
    assert strokes.speeds == pytest.approx((0.04, 0.08, 0.2))
    assert (strokes.down, strokes.hold, strokes.up) == (0.04, 0.15, 0.04)
    assert (strokes.finger, strokes.press_stiffness) == (3000.0, 2e4)
    assert (strokes.dip_force, strokes.repetition_depth, strokes.repetition_highest) == (5.0, 1.1, 20.0)
    assert strokes.given["depth"].origin == "case"
    assert strokes.given["up"].origin == "default: common practice"


def test_own_material(tmp_path: Path) -> None:
    own = """[materials.my-oak]
    kind = "wood"
    source = "weighed and bent for this test"
    density = "700 kg/m^3"
    E = "11 GPa"
    """
    case = lever(tmp_path, 'wood = "my-oak"', own)
    assert given(case, "wood").value == "my-oak"
    assert case.library.get("my-oak")["density"].value == pytest.approx(700.0)


def test_warnings_name_notes_range_and_source(tmp_path: Path) -> None:
    case = lever(tmp_path, 'front = { between = "steps", C2 = "50 mm", C3 = "200 mm", B3 = "450 mm" }')
    assert case.warnings == (
        "demo.toml: [[train]] lever, field 'front' = 50 mm to 450 mm at C2 to B2, B3 to C4: "
        "outside the usual 100 mm to 400 mm (common practice)",
    )
    assert lever(tmp_path, 'front = "400 mm"').warnings == ()


def test_fingerprint_follows_every_input(tmp_path: Path) -> None:
    (tmp_path / "chest.csv").write_text(csv_text())
    fields = 'front = { csv = "chest.csv", column = "long", unit = "mm" }'
    first = lever(tmp_path, fields).fingerprint
    assert len(first) == 64
    assert lever(tmp_path, fields).fingerprint == first
    assert lever(tmp_path, fields + "\n# remark").fingerprint == first  # it says nothing
    assert lever(tmp_path, fields, set_=[("lever.front", "100 mm")]).fingerprint != first
    (tmp_path / "chest.csv").write_text(csv_text({40: "141"}))
    assert lever(tmp_path, fields).fingerprint != first


def test_line_ends_and_byte_order_mark_do_not_matter(tmp_path: Path) -> None:
    first = lever(tmp_path, "pieces = 2")
    path = tmp_path / "demo.toml"
    path.write_bytes(b"\xef\xbb\xbf" + first.text.replace("\n", "\r\n").encode())
    assert read_case(path, PARTS).fingerprint == first.fingerprint


def test_a_case_travels_between_processes(tmp_path: Path) -> None:
    case = read_case_with_own_parts(tmp_path)
    assert pickle.loads(pickle.dumps(case)).fingerprint == case.fingerprint


def read_case_with_own_parts(folder: Path) -> Case:
    path = folder / "real.toml"
    path.write_text(f'{HEAD}[[train]]\npart = "tracker"\nlength = "1.2 m"\n')
    return read_case(path)


def test_registered_parts_are_the_default(tmp_path: Path) -> None:
    case = read_case_with_own_parts(tmp_path)
    assert given(case, "length", part="tracker").value == pytest.approx(1.2)


def test_shipped_cases_are_found_by_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("keyaction.cases.text.find._SHIPPED", tmp_path)
    (tmp_path / "demo-test.toml").write_text(HEAD + LEVER)
    assert shipped() == {"demo-test": tmp_path / "demo-test.toml"}
    assert read_case("demo-test", PARTS).title == "Test"
    assert find_case("demo-test.toml") == tmp_path / "demo-test.toml"


def test_cases_of_every_kind_are_found_by_name_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("keyaction.cases.text.find._SHIPPED", tmp_path)
    (tmp_path / "kinds").mkdir()
    for name in ("demo-test.toml", "kinds/a-kind.toml"):
        (tmp_path / name).write_text(HEAD + LEVER)
    assert list(shipped()) == ["demo-test", "a-kind"]
    assert find_case("a-kind") == tmp_path / "kinds" / "a-kind.toml"


def test_a_file_wins_over_a_shipped_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shipped = tmp_path / "shipped"
    shipped.mkdir()
    monkeypatch.setattr("keyaction.cases.text.find._SHIPPED", shipped)
    (shipped / "mine.toml").write_text(HEAD + LEVER)
    (tmp_path / "mine.toml").write_text(HEAD.replace("Test", "Near") + LEVER)
    monkeypatch.chdir(tmp_path)
    assert read_case("mine.toml", PARTS).title == "Near"


def test_a_part_taken_out_of_the_train_that_a_note_still_names(tmp_path: Path) -> None:
    demo = read_case("demo-wood")
    start = demo.text.index('part = "spring"')
    start = demo.text.rindex("[[train]]", 0, start)
    text = demo.text[:start] + demo.text[demo.text.index("[[train]]", start + 5) :]
    path = tmp_path / "short.toml"
    path.write_text(f'{text}\n[notes.C4.pallet-spring]\nforce = "1 N"\n', encoding="utf-8")
    for name, content in demo.files.items():
        (tmp_path / name).write_text(content, encoding="utf-8")
    with pytest.raises(CaseProblem) as caught:
        read_case(path)
    (defect,) = caught.value.defects
    assert (defect.table, defect.message) == (
        "[notes.C4.pallet-spring]",
        "unknown part 'pallet-spring'; the train has no spring: put its [[train]] table back, or take this table out",
    )
