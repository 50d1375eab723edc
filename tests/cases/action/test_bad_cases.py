"""Defects: each names file, table, field and value, and says what is allowed or the nearest valid name."""

from __future__ import annotations

import pickle
from pathlib import Path

import pytest
from case_files import HEAD, LEVER, PARTS, defects, only, read

from keyaction.cases.action.reader import read_case
from keyaction.cases.text.defects import CaseProblem, Defect
from keyaction.cases.text.textfile import LARGEST

TRAIN = "[[train]] lever"


def check(defect: Defect, table: str, field: str, value: str, *words: str) -> None:
    """The defect stands where it should and says these words."""
    assert (defect.file, defect.table, defect.field, defect.value) == ("demo.toml", table, field, value)
    for word in words:
        assert word in defect.message, defect.message


@pytest.mark.parametrize(
    ("fields", "field", "value", "words"),
    [
        ('frnt = "300 mm"', "frnt", '"300 mm"', ["unknown field", "did you mean 'front'?"]),
        ('pin = { diametre = "2 mm" }', "pin.diametre", '"2 mm"', ["unknown field", "'diameter'"]),
        ('leads = [{ mas = "2 g" }]', "leads.0.mas", '"2 g"', ["unknown field", "'mass'"]),
        ("front = 230", "front", "230", ["text with a unit", '"230 mm"']),
        ("front = 0.5", "front", "0.5", ['"0.5 mm"']),
        ("front = true", "front", "true", ["text with a unit", '"1 mm"']),
        ('front = ["2 mm"]', "front", "[1 values]", ["text with a unit"]),
        ("front = 2024-01-01", "front", "2024-01-01", ["text with a unit"]),
        ('front = "230"', "front", '"230"', ["no unit", "'230 mm'"]),
        ('front = "230 kg"', "front", '"230 kg"', ["a length is needed"]),
        ('front = "230 mmm"', "front", '"230 mmm"', ["mmm"]),
        ('front = "long"', "front", '"long"', ["does not begin with a number"]),
        ('front = "600 mm"', "front", '"600 mm"', ["allowed: 10 mm to 500 mm"]),
        ('front = "9 mm"', "front", '"9 mm"', ["allowed: 10 mm to 500 mm"]),
        ('width = "0 mm"', "width", '"0 mm"', ["allowed: above 0 mm, up to 100 mm"]),
        ('moment = "2 N*m"', "moment", '"2 N*m"', ["allowed: -1000 N·mm to 1000 N·mm"]),
        ('pin = { diameter = "4 cm" }', "pin.diameter", '"4 cm"', ["allowed: above 0 mm, up to 30 mm"]),
        (
            'leads = [{ mass = "1 g" }, { mass = "2 kg" }]',
            "leads.1.mass",
            '"2 kg"',
            ["allowed: above 0 g, up to 1000 g"],
        ),
        ("ratio = 3", "ratio", "3", ["allowed: 0 to 2"]),
        ("ratio = nan", "ratio", "nan", ["not a finite number", "allowed: 0 to 2"]),
        ("ratio = true", "ratio", "true", ["plain number"]),
        ('ratio = "0.5"', "ratio", '"0.5"', ["plain number", '"60 %"']),
        ('ratio = "300 %"', "ratio", '"300 %"', ["allowed: 0 to 2"]),
        ('ratio = "x %"', "ratio", '"x %"', ["number"]),
        ("pieces = 21", "pieces", "21", ["allowed: 0 to 20"]),
        ("pieces = 2.0", "pieces", "2.0", ["whole number"]),
        ("pieces = true", "pieces", "true", ["whole number"]),
        ('style = "balancd"', "style", '"balancd"', ["did you mean 'balanced'?", "balanced, hung"]),
        ("style = 3", "style", "3", ["balanced, hung"]),
        ('wood = "sugar-mapel"', "wood", '"sugar-mapel"', ["not known", "sugar-maple"]),
        ("wood = 1", "wood", "1", ["name of a material"]),
        ("bushed = 1", "bushed", "1", ["true or false"]),
        ("remark = 1", "remark", "1", ["text in quotes"]),
        ('pin = "2 mm"', "pin", '"2 mm"', ["a table is needed", "diameter = ..."]),
        ('leads = { mass = "2 g" }', "leads", "{ mass }", ["a list of tables", "mass = ..."]),
        ("leads = [1]", "leads", "[1 values]", ["a list of tables"]),
    ],
)
def test_value(tmp_path: Path, fields: str, field: str, value: str, words: list[str]) -> None:
    check(only(tmp_path, fields), TRAIN, field, value, *words)


def test_empty_row(tmp_path: Path) -> None:
    text = HEAD + LEVER + 'leads = [{}, { mass = "2 g" }]'
    check(defects(tmp_path, text)[0], TRAIN, "leads.0", "", "an empty row", "mass = ...")


@pytest.mark.parametrize(
    ("points", "field", "words"),
    [
        ('C2 = "20 cm", C4 = "30 cm"', "front", ["between =", '"linear"', '"geometric"']),
        ('between = "liner", C2 = "20 cm", C4 = "30 cm"', "front.between", ["did you mean 'linear'?"]),
        ('between = 1, C2 = "20 cm", C4 = "30 cm"', "front.between", ['"smooth"']),
        ('between = "linear", C4 = "20 cm", C2 = "30 cm"', "front", ["out of order", "C2 after C4"]),
        ('between = "linear", "C#2" = "20 cm", Db2 = "30 cm"', "front", ["C#2 is given twice"]),
        ('between = "linear", C2 = "20 cm", D4 = "30 cm"', "front.D4", ["outside the compass", "C2 to C4"]),
        ('between = "linear", C2 = "20 cm", X4 = "30 cm"', "front.X4", ["'X4' is not a note", "C2 to C4"]),
        (
            'betwen = "linear", between = "linear", C2 = "20 cm", C4 = "30 cm"',
            "front.betwen",
            ["did you mean 'between'?"],
        ),
        ('between = "linear", C2 = "20 cm", C4 = "60 cm"', "front.C4", ["allowed: 10 mm to 500 mm"]),
        ('between = "linear", C2 = "20 cm", C4 = 30', "front.C4", ["text with a unit"]),
        ('between = "linear", C2 = "20 cm"', "front", ["at least two control points"]),
        ('between = "linear"', "front", ["at least two control points"]),
    ],
)
def test_control_points(tmp_path: Path, points: str, field: str, words: list[str]) -> None:
    defect = only(tmp_path, f"front = {{ {points} }}")
    check(defect, TRAIN, field, defect.value, *words)


def test_geometric_needs_values_above_zero(tmp_path: Path) -> None:
    defect = only(tmp_path, 'moment = { between = "geometric", C2 = "0 N*m", C4 = "1 N*m" }')
    check(defect, TRAIN, "moment", "{ between, C2, C4 }", "above zero", '"linear"')


@pytest.mark.parametrize(
    "fields",
    [
        'wood = { between = "linear", C2 = "sugar-maple", C4 = "white-oak" }',
        'pieces = { between = "smooth", C2 = 1, C4 = 2 }',
    ],
)
def test_names_and_counts_change_by_steps_only(tmp_path: Path, fields: str) -> None:
    name = fields.split()[0]
    defect = only(tmp_path, fields)
    check(defect, TRAIN, f"{name}.between", defect.value, 'allowed: "steps"')


def test_a_field_for_the_whole_compass(tmp_path: Path) -> None:
    defect = only(tmp_path, 'style = { between = "steps", C2 = "hung", C4 = "balanced" }')
    check(defect, TRAIN, "style", "{ between, C2, C4 }", "holds for the whole compass")
    defect = only(tmp_path, "", '[notes.C3.lever]\nstyle = "hung"')
    check(defect, "[notes.C3.lever]", "style", '"hung"', "holds for the whole compass")


# CSV files ---------------------------------------------------------------------------------------

ROWS = [
    f"{name}{octave},1{octave}"
    for octave in (2, 3)
    for name in ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
] + ["C4,14"]
CSV = 'front = { csv = "chest.csv", column = "long", unit = "cm" }'


def in_csv(folder: Path, rows: list[str], fields: str = CSV, header: str = "note,long") -> Defect:
    (folder / "chest.csv").write_text("\n".join([header, *rows]), encoding="utf-8")
    return only(folder, fields)


def test_the_csv_file_of_these_tests_is_sound(tmp_path: Path) -> None:
    (tmp_path / "chest.csv").write_text("\n".join(["note,long", *ROWS]))
    case = read(tmp_path, HEAD + LEVER + CSV)
    assert case.values(60, case.part("lever"))["front"].value == pytest.approx(0.14)


@pytest.mark.parametrize(
    ("rows", "table", "field", "value", "words"),
    [
        ([*ROWS[:3], *ROWS[5:]], "", "note", "", ["no row for D#2 to E2"]),
        ([*ROWS, "C#2,12"], "line 27", "note", '"C#2"', ["twice", "line 3"]),
        ([*ROWS, "Db2,12"], "line 27", "note", '"Db2"', ["twice", "line 3"]),
        ([*ROWS, "D4,12"], "line 27", "note", '"D4"', ["outside the compass", "C2 to C4"]),
        ([*ROWS, "Q,12"], "line 27", "note", '"Q"', ["not a note", "C2 to C4"]),
        ([*ROWS, "D4,12,13"], "line 27", "", "", ["3 cells", "header has 2"]),
        (
            [*ROWS[:-1], "C4,70"],
            "column 'long', line 26",
            "front",
            '"70"',
            ["allowed: 10 mm to 500 mm", TRAIN, "at C4"],
        ),
        ([*ROWS[:-1], "C4,x"], "column 'long', line 26", "front", '"x"', ["does not begin with a number"]),
        ([*ROWS[:-1], 'C4,"14'], "line 26", "", "", ["not readable as CSV"]),
    ],
)
def test_csv_rows(tmp_path: Path, rows: list[str], table: str, field: str, value: str, words: list[str]) -> None:
    defect = in_csv(tmp_path, rows)
    assert (defect.file, defect.table, defect.field, defect.value) == ("chest.csv", table, field, value)
    for word in words:
        assert word in defect.message


def test_csv_hole(tmp_path: Path) -> None:
    check(in_csv(tmp_path, [*ROWS[:-1], "C4,"]), TRAIN, "front", "", "chest.csv", "'long'", "no value at C4")


def test_csv_header(tmp_path: Path) -> None:
    defect = in_csv(tmp_path, ROWS, header="key,long")
    assert (defect.file, defect.table, defect.value) == ("chest.csv", "header", '"key"')
    assert "first column must be 'note'" in defect.message
    assert "commas" in in_csv(tmp_path, ROWS, header="note;long").message
    twice = in_csv(tmp_path, [f"{row},1" for row in ROWS], header="note,long,long")
    assert "given twice: long" in twice.message
    assert "holds no rows" in in_csv(tmp_path, [], header="# nothing yet").message


@pytest.mark.parametrize(
    ("fields", "field", "value", "words"),
    [
        (CSV.replace("long", "lang"), "front.column", '"lang"', ["no such column in chest.csv", "'long'"]),
        (CSV.replace("chest", "attic"), "front.csv", '"attic.csv"', ["no such file"]),
        (CSV.replace("chest", "../chest"), "front.csv", '"../chest.csv"', ["beside the case"]),
        (CSV.replace('"chest.csv"', '"/chest.csv"'), "front.csv", '"/chest.csv"', ["beside the case"]),
        (CSV.replace('"cm"', '"kg"'), "front.unit", '"kg"', ["a length is needed"]),
        (CSV.replace("unit", "units"), "front.units", '"cm"', ["did you mean 'unit'?"]),
        (CSV.replace('"long"', "3"), "front.column", "3", ["text in quotes"]),
        ('front = { csv = "chest.csv", unit = "mm" }', "front.column", "{ csv, unit }", ["which column"]),
        (CSV.replace("front", "ratio"), "ratio.unit", '"cm"', ["plain number has no unit"]),
        (CSV.replace("front", "pieces"), "pieces.unit", '"cm"', ["a count has no unit"]),
    ],
)
def test_csv_reference(tmp_path: Path, fields: str, field: str, value: str, words: list[str]) -> None:
    check(in_csv(tmp_path, ROWS, fields), TRAIN, field, value, *words)


def test_csv_without_unit_is_one_defect(tmp_path: Path) -> None:
    defect = in_csv(tmp_path, ROWS, 'front = { csv = "chest.csv", column = "long" }')
    assert "a number without unit" in defect.message
    assert "at C2 to C4" in defect.message


def test_csv_not_text(tmp_path: Path) -> None:
    (tmp_path / "chest.csv").write_bytes(b"note,long\nC2,\xff\n")
    assert "not UTF-8" in only(tmp_path, CSV).message


# The head, the train, overrides --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "table", "field", "value", "words"),
    [
        ("format = 1\n", "", "top of the file", "format", "", ["missing", "format = 1"]),
        ("format = 1", "format = 2", "top of the file", "format", "2", ["too new", "allowed: 1"]),
        ("format = 1", "format = true", "top of the file", "format", "true", ["whole number"]),
        ("format = 1", "format = 1\nnote = 3", "", "note", "", ["unknown table or field", "'notes'"]),
        ("[case]", "[cases]", "[cases]", "", "", ["did you mean 'case'?"]),
        ('[case]\ntitle = "Test"\n', "case = 1\n", "[case]", "", "1", ["a table is needed"]),
        ('title = "Test"', 'titel = "Test"', "[case]", "titel", '"Test"', ["did you mean 'title'?"]),
        ('title = "Test"', "title = 3", "[case]", "title", "3", ["text in quotes"]),
        (
            'title = "Test"',
            'note_names = "trad"',
            "[case]",
            "note_names",
            '"trad"',
            ["did you mean 'trade'?"],
        ),
        ('low = "C2"\n', "", "[compass]", "low", "", ["missing"]),
        ('low = "C2"', 'low = "H2"', "[compass]", "low", '"H2"', ["not a note in scientific naming"]),
        ('low = "C2"', "low = 36", "[compass]", "low", "36", ["name of a note"]),
        ('low = "C2"', 'low = "D4"', "[compass]", "high", '"C4"', ["below the lowest note D4"]),
        ('low = "C2"', 'lowest = "C2"\nlow = "C2"', "[compass]", "lowest", '"C2"', ["did you mean 'low'?"]),
        (
            'part = "lever"',
            'part = "levr"',
            "[[train]] number 1",
            "part",
            '"levr"',
            ["did you mean 'lever'?"],
        ),
        ('part = "lever"', 'name = "x"', "[[train]] number 1", "part", "", ["missing; known: lever, bar"]),
        ('part = "lever"', "part = 1", "[[train]] number 1", "part", "1", ["known: lever, bar"]),
        (
            'part = "lever"',
            'part = "lever"\nname = "My lever"',
            "[[train]] number 1",
            "name",
            '"My lever"',
            ["small letters"],
        ),
        (
            'part = "lever"',
            'part = "lever"\nname = "strokes"',
            "[[train]] number 1",
            "name",
            '"strokes"',
            ["taken"],
        ),
        ("[[train]]", "[train]", "[[train]]", "", "", ["double brackets"]),
        (LEVER, "", "[[train]]", "", "", ["no parts"]),
        (
            LEVER,
            LEVER + 'name = "a"\n[[train]]\npart = "bar"\nname = "a"',
            "[[train]] a",
            "name",
            '"a"',
            ["2 parts have this name"],
        ),
        (LEVER, f"{LEVER}[notes.C3.levr]\npieces = 1", "[notes.C3.levr]", "", "", ["did you mean 'lever'?"]),
        (
            LEVER,
            f"{LEVER}[notes.D4.lever]\npieces = 1",
            "[notes.D4]",
            "",
            "",
            ["outside the compass", "C2 to C4"],
        ),
        (LEVER, f"{LEVER}[notes.X.lever]\npieces = 1", "[notes.X]", "", "", ["not a note"]),
        (LEVER, f"{LEVER}[notes]\nC3 = 1", "[notes.C3]", "", "1", ["a table for each part"]),
        (
            LEVER,
            f"{LEVER}[notes.C3]\nlever = 1",
            "[notes.C3.lever]",
            "",
            "1",
            ["a table of the part's fields"],
        ),
        (LEVER, f"{LEVER}[notes.C3.lever]\npices = 1", "[notes.C3.lever]", "pices", "1", ["'pieces'"]),
        (
            LEVER,
            f'{LEVER}[notes.C3.lever]\nfront = "600 mm"',
            "[notes.C3.lever]",
            "front",
            '"600 mm"',
            ["allowed: 10 mm to 500 mm"],
        ),
        (
            LEVER,
            f'{LEVER}[notes.C3.lever]\nfront = {{ C2 = "20 cm" }}',
            "[notes.C3.lever]",
            "front",
            "{ C2 }",
            ["one value is needed"],
        ),
        (
            LEVER,
            f"{LEVER}[notes.Cs3.lever]\npieces = 1\n[notes.Db3.lever]\npieces = 2",
            "[notes.Db3]",
            "",
            "",
            ["the same note as [notes.Cs3]"],
        ),
        (LEVER, f"{LEVER}[strokes]\ndwn = 1", "[strokes]", "dwn", "1", ["did you mean 'down'?"]),
        (LEVER, f"{LEVER}[strokes]\ndown = 1", "[strokes]", "down", "1", ['"1 ms"']),
        (
            LEVER,
            f'{LEVER}[strokes]\ndip_force = "300 N"',
            "[strokes]",
            "dip_force",
            '"300 N"',
            ["allowed: 1.02 gf to 20394 gf"],
        ),
        (
            LEVER,
            f'{LEVER}[strokes]\nspeeds = ["1 m/s"]',
            "[strokes]",
            "speeds",
            "[1 values]",
            ["three speeds"],
        ),
        (
            LEVER,
            f'{LEVER}[strokes]\nspeeds = ["1 m/s", "2 m/s", "9 m/s"]',
            "[strokes]",
            "speeds.fast",
            '"9 m/s"',
            ["allowed: 1 mm/s to 5000 mm/s"],
        ),
        (
            LEVER,
            f'{LEVER}[strokes]\nspeeds = ["1 m/s", "1 m/s", "2 m/s"]',
            "[strokes]",
            "speeds",
            "",
            ["must rise", "1000 mm/s, 1000 mm/s, 2000 mm/s"],
        ),
        (LEVER, f"{LEVER}[materials.my-oak]\nkind = 3", "[materials.my-oak]", "kind", "3", ["wood"]),
        (LEVER, f"{LEVER}[materials]\nmy-oak = 3", "[materials.my-oak]", "", "", ["not a table"]),
        (LEVER, f'{LEVER}[materials]\n"odd]: oak" = 3', "[materials.odd]:-oak]", "", "", ["not a table"]),
        (
            LEVER,
            f'{LEVER}[materials.my-oak]\nkind = "wood"\nsource = "x"\ndensity = "500 kg/m^3"\nE = "9 GPa"\n"a: b" = 3',
            "[materials.my-oak]",
            "a: b",
            "3",
            ["is not a property of a wood"],
        ),
        (
            LEVER,
            f'{LEVER}[materials.my-oak]\nkind = "wood"\nsource = "x"\ndensity = "3 m"\nE = "11 GPa"',
            "[materials.my-oak]",
            "density",
            '"3 m"',
            ["a density is needed"],
        ),
    ],
)
def test_structure(tmp_path: Path, old: str, new: str, table: str, field: str, value: str, words: list[str]) -> None:
    text = HEAD + LEVER
    assert old in text
    check(defects(tmp_path, text.replace(old, new))[0], table, field, value, *words)


def test_settings(tmp_path: Path) -> None:
    settings = [
        ("levr.front", "20 cm"),
        ("lever.frnt", "20 cm"),
        ("lever.front", "60 cm"),
        ("lever.front", "2"),
        ("lever.leads.1.mass", "2 g"),
        ("lever.leads.*.mass", "2 g"),
        ("lever", "2"),
        ("strokes.donw", "2 s"),
        ("lever.pieces", "2.5"),
        ("materials.redcedr.E", "9 GPa"),
        ("materials.redcedar.Q", "9 GPa"),
        ("materials.redcedar.E", "9"),
        ("materials.redcedar.E", "9 kPa"),
        ("materials.redcedar", "9 GPa"),
    ]
    text = HEAD + LEVER + 'leads = [{ mass = "1 g" }]'
    found = defects(tmp_path, text, set_=settings)
    assert [(one.table, one.field) for one in found] == [("set", path) for path, _ in settings]
    for one, word in zip(
        found,
        [
            "'lever'",
            "'front'",
            "10 mm to 500 mm",
            "no unit",
            "no such row",
            "unknown field",
            "a field of lever is wanted, each with its value",
            "'down'",
            "whole number",
            "nearest: redcedar",
            "has no 'Q'",
            "no unit",
            "out of range",
            "write materials.NAME.PROPERTY",
        ],
        strict=True,
    ):
        assert word in one.message


def test_all_defects_at_once(tmp_path: Path) -> None:
    text = f"""[cases]
    [compass]
    low = "C2"
    high = "C4"
    [materials.my-oak]
    kind = "wod"
    {LEVER}
    frnt = "1 mm"
    pin = {{ diameter = 3, frction = "x" }}
    wood = "ok"
    front = {{ csv = "none.csv", column = "a" }}
    [[train]]
    part = "bra"
    [notes.C9.lever]
    [notes.C3.bra]
    anything = 1
    [strokes]
    down = "2 kg"
    """
    found = {(one.table, one.field) for one in defects(tmp_path, text)}
    assert found == {
        ("top of the file", "format"),
        ("[cases]", ""),
        ("[materials.my-oak]", "kind"),
        (TRAIN, "frnt"),
        (TRAIN, "pin.diameter"),
        (TRAIN, "pin.frction"),
        (TRAIN, "wood"),
        (TRAIN, "front.csv"),
        ("[[train]] number 2", "part"),
        ("[notes.C9]", ""),
        ("[strokes]", "down"),
    }


def test_line_of_a_defect(tmp_path: Path) -> None:
    assert str(only(tmp_path, 'frnt = "300 mm"')) == (
        "demo.toml: [[train]] lever, field 'frnt' = \"300 mm\": unknown field; did you mean 'front'?"
    )


# Files ---------------------------------------------------------------------------------------------


def refused(path: str | Path) -> str:
    with pytest.raises(CaseProblem) as caught:
        read_case(path, PARTS)
    assert len(caught.value.defects) == 1
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("format = \n", ["line 1, column 10", "TOML"]),
        ("format = 1\n[case\n", ["line 2, column 6", "TOML"]),
        ('format = 1\nx = "open', ["line 2, column 10", "TOML"]),
        ("a = 1\na = 2\n", ["line 2", "TOML"]),
        ("x = { C#2 = 1 }", ['a sharp needs quotes: "C#2" or Cs2']),
        ("[notes.C#4.key]", ['"C#4" or Cs4']),
        ("x = 1\nx.y = 2", ["TOML"]),
        ("x = 0x" + "f" * 5000, ["more than 64 bits"]),
        ("x = " + "9" * 5000, ["TOML"]),
        ("x = " + "[" * 5000 + "]" * 5000, ["nested too deeply"]),
        ("[" + "x." * 400 + "x]", ["nested too deeply"]),
        ("", ["is empty"]),
        ("  \n", ["is empty"]),
    ],
)
def test_broken_text(tmp_path: Path, text: str, words: list[str]) -> None:
    path = tmp_path / "demo.toml"
    path.write_text(text)
    line = refused(path)
    assert line.startswith("demo.toml: ") or "is empty" in line
    for word in words:
        assert word in line


def test_no_file(tmp_path: Path) -> None:
    (tmp_path / "chapel.toml").write_text("x = 1")
    line = refused(tmp_path / "chapl.toml")
    assert "chapl.toml: no such file; did you mean 'chapel.toml'?" in line
    assert "no such file" in refused("a-case-nobody-ships")
    assert "not a usable path" in refused("a\0b") or "no such file" in refused("a\0b")


def test_shipped_name_near(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("keyaction.cases.text.find._SHIPPED", tmp_path)
    (tmp_path / "demo-test.toml").write_text("x = 1")
    assert "did you mean 'demo-test'?" in refused("demo-tset")


def test_other_things_than_a_text_file(tmp_path: Path) -> None:
    assert "is a folder" in refused(tmp_path)
    path = tmp_path / "demo.toml"
    path.write_bytes(b"format = 1\ntitle = '\xff'\n")
    assert "is not UTF-8 text (line 2)" in refused(path)
    path.write_bytes(b"# " + b"x" * LARGEST)
    assert "larger than 5 MB" in refused(path)


def test_the_exception_travels_between_processes(tmp_path: Path) -> None:
    with pytest.raises(CaseProblem) as caught:
        read(tmp_path, "x = 1")
    sent = caught.value
    again = pickle.loads(pickle.dumps(sent))
    assert (again.path, again.defects, str(again)) == (sent.path, sent.defects, str(sent))
