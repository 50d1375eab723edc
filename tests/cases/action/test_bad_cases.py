"""Defects: each names file, table, field and value, and says what is allowed or the nearest valid name."""

from __future__ import annotations

from pathlib import Path

import pytest
from case_files import HEAD, LEVER, check, defects, only

TRAIN = "[[train]] lever"


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
