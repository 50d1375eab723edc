"""Wrong input: one message with every defect, exit status 2, nothing written."""

import pytest
from command_line import ended, start, tree
from short_case import CHEST, SHORT, spoilt

WIRE = 'length = { csv = "chest.csv", column = "wire", unit = "mm" }'
LENGTHS = 'opening_length = { between = "linear", C4 = "190 mm", G4 = "180 mm" }'

SPOILT = {
    "broken TOML": (
        spoilt(('low = "C4"', 'low = "C4')),
        ["short.toml: line 8, column 10: not readable as TOML: ", "Illegal character"],
    ),
    "a title that ends amid its text": (
        spoilt(('"Invented short action"', '"Invented\\u0000 action"')),
        ["short.toml: field 'case.title' holds a sign that cannot be seen (U+0000); leave it out"],
    ),
    "a title that moves the cursor": (
        spoilt(('"Invented short action"', '"Invented\\u001b[2J action"')),
        ["short.toml: field 'case.title' holds a sign that cannot be seen (U+001B); leave it out"],
    ),
    "an empty file": ("", ["short.toml: ", "is empty"]),
    "an unknown part": (
        spoilt(('part = "pull-down"', 'part = "pul-down"')),
        ["short.toml: [[train]] number 2, field 'part' = \"pul-down\": unknown part; did you mean 'pull-down'?"],
    ),
    "a misspelt material": (
        spoilt(('"eastern-white-pine"', '"eastern-wite-pine"')),
        ["[[train]] pallet, field 'material' = \"eastern-wite-pine\"", "is not known; nearest: eastern-white-pine"],
    ),
    "a misspelt field": (
        spoilt(('dip = "9.5 mm"', 'dpi = "9.5 mm"')),
        ["[[train]] key, field 'dpi' = \"9.5 mm\": unknown field; did you mean 'dip'?"],
    ),
    "a size without its quotes": (
        spoilt(('dip = "9.5 mm"', "dip = 9.5 mm  # to the felt")),
        ["short.toml: line 16, column 11: not readable as TOML: ", '; put quotes around what has a unit: "9.5 mm"'],
    ),
    "a size amid others without its quotes": (
        spoilt(('thickness = "4 mm", area = "150 mm^2"', 'thickness = "4 mm", area = 150 mm^2')),
        ['; put quotes around what has a unit: "150 mm^2"'],
    ),
    "a forgotten quote": (
        spoilt(('dip = "9.5 mm"', 'dip = "9.5 mm')),
        ["short.toml: line 16, ", "; a quote is missing in this line"],
    ),
    "a missing unit": (
        spoilt(('dip = "9.5 mm"', "dip = 9.5")),
        ["[[train]] key, field 'dip' = 9.5: a text with a unit is needed, such as"],
    ),
    "a unit of the wrong kind": (
        spoilt(('dip = "9.5 mm"', 'dip = "9.5 g"')),
        ["[[train]] key, field 'dip' = \"9.5 g\": '9.5 g' is a mass; a length is needed"],
    ),
    "an unknown unit": (spoilt(('dip = "9.5 mm"', 'dip = "9.5 zoll"')), ["[[train]] key, field 'dip'", "zoll"]),
    "air too hot for its density to be known": (
        spoilt(('temperature = "20 degC"', 'temperature = "44 degC"')),
        ["[[train]] box, field 'temperature' = \"44 degC\": out of range; allowed: 0 °C to 40 °C"],
    ),
    "a negative length": (
        spoilt(('front = "400 mm"', 'front = "-400 mm"')),
        ["[[train]] key, field 'front' = \"-400 mm\": out of range; allowed: 2 mm to 2000 mm"],
    ),
    "a note outside the compass": (
        spoilt((LENGTHS, LENGTHS.replace("G4", "G5"))),
        [
            "[[train]] pallet, field 'opening_length.G5' = \"180 mm\": note 'G5' is outside the compass; "
            "allowed: C4 to G4"
        ],
    ),
    "an override outside the compass": (
        spoilt(more='\n[notes.C5.key]\ndip = "9 mm"\n'),
        ["[notes.C5]", "outside the compass", "C4 to G4"],
    ),
    "control points out of order": (
        spoilt((LENGTHS, 'opening_length = { between = "linear", G4 = "180 mm", C4 = "190 mm" }')),
        ["[[train]] pallet, field 'opening_length': control points out of order: C4 after G4; write them rising"],
    ),
    "zero pallet area": (
        spoilt(('opening_width = "14 mm"', 'opening_width = "0 mm"')),
        ["[[train]] pallet, field 'opening_width' = \"0 mm\": out of range; allowed: 0.06 mm to 200 mm"],
    ),
    "a missing field": (
        spoilt(('at = "100 mm"\n', "")),
        ["short.toml: pallet-spring, field at: missing ("],
    ),
    "a train in the wrong order": (
        SHORT.replace('part = "groove"', 'part = "box"', 1).replace(
            'part = "box"\npressure', 'part = "groove"\npressure'
        ),
        ["short.toml: "],
    ),
    "a file of a later format": (spoilt(("format = 1", "format = 99")), ["short.toml: ", "format", "99"]),
    "a CSV file that is not there": (spoilt(("chest.csv", "chst.csv")), ["chst.csv"]),
    "a CSV column that is not there": (spoilt(('"wire"', '"wir"')), ["chest.csv", "wir"]),
}


@pytest.mark.parametrize("command", ["check", "run", "equations"])
@pytest.mark.parametrize("what", SPOILT)
def test_a_spoilt_case(keyaction, folder, what, command):
    text, words = SPOILT[what]
    (folder / "short.toml").write_text(text, encoding="utf-8")
    before = tree(folder)
    said = keyaction(command, "short.toml")
    assert said.status == 2
    assert said.out == ""
    for word in words:
        assert word in said.err
    assert "Traceback" not in said.err
    assert len(said.lines) == (1 if what != "a train in the wrong order" else len(said.lines))
    assert tree(folder) == before


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (CHEST.replace("E4,258\n", ""), ["E4"]),
        (CHEST.replace("E4,258", "E4,"), ["E4"]),
        (CHEST.replace("E4,258", "E4,long"), ["long"]),
        (CHEST.replace("E4,258", "E4,-258"), ["258"]),
        (CHEST.replace("E4,258", "D4,258"), ["D4"]),
        (CHEST.replace("wire", "wi\x1b[31mre"), ["holds a sign that cannot be seen (U+001B) in line 1; leave it out"]),
        (CHEST.replace("E4,258", "E4,2\u202e58"), ["holds a sign that cannot be seen (U+202E) in line 6"]),
    ],
    ids=["row missing", "cell empty", "no number", "negative", "row twice", "a heading unseen", "a cell unseen"],
)
def test_a_csv_with_a_hole(keyaction, folder, content, words):
    (folder / "chest.csv").write_text(content, encoding="utf-8")
    before = tree(folder)
    said = keyaction("run", "short.toml")
    assert said.status == 2
    assert said.out == ""
    assert "chest.csv" in said.err or "short.toml: [[train]] pull-down, field 'length" in said.err
    for word in words:
        assert word in said.err
    assert tree(folder) == before


def test_every_defect_in_one_message(keyaction, folder):
    text = spoilt(
        ('dip = "9.5 mm"', 'dip = "9.5 g"'),
        ('"eastern-white-pine"', '"eastern-wite-pine"'),
        ('force = "3 N"', "force = 3"),
        ('pressure = "70 mmH2O"', 'presure = "70 mmH2O"'),
        (LENGTHS, LENGTHS.replace("G4", "G5")),
        ("chest.csv", "chst.csv"),
        more='\n[notes.C9.key]\ndip = "9 mm"\n[strokes]\ndwn = "40 ms"\n',
    )
    (folder / "short.toml").write_text(text, encoding="utf-8")
    said = keyaction("run", "short.toml")
    assert said.status == 2
    assert len(said.lines) == 8
    for word in ("'dip'", "'material'", "'force'", "'presure'", "opening_length.G5", "chst.csv", "[notes.C9]", "'dwn'"):
        assert sum(word in line for line in said.lines) == 1, word


def test_no_file(keyaction, folder):
    before = tree(folder)
    for command in ("check", "run", "equations"):
        said = keyaction(command, "shrt.toml")
        assert said.status == 2
        assert said.err == "shrt.toml: no such file; did you mean 'short.toml'?\n"
    said = keyaction("show", "short.h5")
    assert said.status == 2
    assert said.err == "short.h5: no such file; make it with: keyaction run CASE --out short.h5\n"
    assert "did you mean 'demo-wood'?" in keyaction("check", "demo-wod").err
    assert tree(folder) == before


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["run", "short.toml", "--notes", "C2"], ["C2", "the compass is C4 to G4"]),
        (["run", "short.toml", "--notes", ""], ["names no note"]),
        (["run", "short.toml", "--notes", "G4:C4"], ["runs downwards"]),
        (["run", "short.toml", "--notes", "C4:G4:0"], ["the step '0'"]),
        (["check", "short.toml", "--note", "H4"], ["'H4' is not a note in scientific naming"]),
        (["equations", "short.toml", "--note", "C2"], ["the compass is C4 to G4"]),
        (["run", "short.toml", "--jobs", "-1"], ["--jobs -1: must be 0 (one per core) or more"]),
    ],
)
def test_notes_and_numbers_that_are_none(keyaction, folder, arguments, words):
    before = tree(folder)
    said = keyaction(*arguments)
    assert said.status == 2
    assert said.out == ""
    assert len(said.lines) == 1
    for word in words:
        assert word in said.err
    assert tree(folder) == before


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["play"],
        ["run"],
        ["check", "short.toml", "--nte", "C4"],
        ["run", "short.toml", "--jobs", "two"],
        ["check", "short.toml", "--units", "inch"],
        ["equations", "short.toml", "--form", "html"],
    ],
)
def test_a_command_line_that_makes_no_sense(keyaction, folder, arguments):
    before = tree(folder)
    said = keyaction(*arguments)
    assert said.status == 2
    assert said.out == ""
    assert said.err.startswith("usage: keyaction")
    assert tree(folder) == before


@pytest.mark.parametrize(
    ("content", "words"),
    [(b"plain text", "not a result file of this program"), (b"", "is empty")],
)
def test_show_of_something_else(keyaction, folder, content, words):
    (folder / "some.h5").write_bytes(content)
    said = keyaction("show", "some.h5")
    assert said.status == 2
    assert words in said.err
    assert len(said.lines) == 1


def test_show_of_a_note_that_was_not_played(keyaction, played):
    said = keyaction("show", played / "short.h5", "--note", "G4")
    assert said.status == 2
    assert said.err == "note G4 is not in this result; it holds C4, C#4, D4\n"
    said = keyaction("show", played / "short.h5", "--note", "X")
    assert said.status == 2
    assert "'X' is not a note" in said.err


# -- as a real process -----------------------------------------------------------------------------------
@pytest.mark.parametrize("what", ["broken TOML", "a unit of the wrong kind"])
def test_a_spoilt_case_in_a_process_of_its_own(folder, what):
    text, words = SPOILT[what]
    (folder / "short.toml").write_text(text, encoding="utf-8")
    before = tree(folder)
    said = ended(start(folder, "run", "short.toml"))
    assert (said.status, said.out) == (2, "")
    assert len(said.lines) == 1
    assert all(word in said.err for word in words)
    assert tree(folder) == before
