"""Every command takes an instrument: its divisions one after the other, some of them, or the one that is chosen."""

import csv
import shutil

import pytest
from command_line import Keyaction
from small_instrument import write_instrument
from small_study import text as study_text

from keyaction.cases.instrument.reader import read_instrument
from keyaction.sim.files.hdf5 import load
from keyaction.sim.run.run import run

TITLES = ("great: Invented short action", "II: Invented upper action", "pedal: Invented pedal action")


@pytest.fixture(scope="module")
def organ(tmp_path_factory):
    """The instrument, played with three notes."""
    folder = tmp_path_factory.mktemp("organ")
    run(read_instrument(write_instrument(folder)), "great/C4:C#4,II/C4", folder / "organ.h5")
    return folder


@pytest.fixture
def keyaction(organ, tmp_path, monkeypatch, capsys):
    for path in organ.iterdir():
        shutil.copy(path, tmp_path)
    monkeypatch.chdir(tmp_path)
    return Keyaction(tmp_path, capsys)


# -- which divisions -------------------------------------------------------------------------------------
COMMANDS = (
    "check {case}",
    "check {case} --spreads",
    "equations {case}",
    "weigh {case} --notes C4 --laid none",
    "springs {case} --notes C4",
    "tune {case} --notes C4 --pluck '150 gf'",
    "run {case} --notes C4",
    "compare {case} --rod case --notes C4 --out rods",
    "report {case} --notes C4 --out page",
    "materials yew --case {case}",
)


@pytest.mark.parametrize("command", COMMANDS)
def test_an_action_case_has_no_divisions(keyaction, command):
    before = keyaction.tree()
    said = keyaction(*command.format(case="great.toml").replace("'150 gf'", "150gf").split(), "--division", "great,II")
    assert (said.status, said.out) == (2, "")
    assert said.lines == [
        "--division great,II: great.toml is an action case and has no divisions; leave the option out, or name an "
        "instrument"
    ]
    assert keyaction.tree() == before


@pytest.mark.parametrize("command", COMMANDS)
def test_a_division_that_there_is_not(keyaction, command):
    before = keyaction.tree()
    said = keyaction(*command.format(case="organ.toml").replace("'150 gf'", "150gf").split(), "--division", "pedl")
    assert (said.status, said.out) == (2, "")
    assert said.lines == ["--division pedl: no division 'pedl'; did you mean 'pedal'?"]
    assert keyaction.tree() == before


@pytest.mark.parametrize(
    ("command", "what"),
    [
        ("tune organ.toml --notes C4 --pluck 150gf --out tuned.toml", "--out"),
        ("compare organ.toml --rod case --notes C4 --out rods", "compare"),
        ("materials yew --case organ.toml", "materials"),
        ("report organ.h5 --found great.toml --out page", "--found"),
    ],
)
def test_what_is_of_one_case_needs_one_division(keyaction, command, what):
    before = keyaction.tree()
    said = keyaction(*command.split(), "--division", "II", "--division", "great")
    assert (said.status, said.out) == (2, "")
    assert said.lines == [f"{what}: one division is needed; choose it with --division: great, II"]
    assert keyaction.tree() == before


@pytest.mark.parametrize("note", ["great/C4", "great/C4:D4,pedal/C4"])
def test_an_action_case_has_no_notes_of_divisions(keyaction, note):
    said = keyaction("weigh", "great.toml", "--notes", note)
    assert (said.status, said.out) == (2, "")
    assert said.lines == [f"'{note}': an action case has no divisions; write the notes alone, such as C4 or C2:G4"]


def test_a_note_of_a_division_that_is_not_chosen(keyaction):
    said = keyaction("weigh", "organ.toml", "--division", "great", "--notes", "II/C4")
    assert (said.status, said.lines) == (2, ["'II/C4': no division 'II'; known: great"])


# -- one after the other ---------------------------------------------------------------------------------
def test_check_tells_of_the_instrument_and_shows_each_division(keyaction):
    said = keyaction("check", "organ.toml")
    assert said.status == 0
    assert said.out.startswith(
        "organ.toml: Three small divisions\n"
        "great: 8 notes, C4 to G4, on keyboard I; great.toml\n"
        "II: 8 notes, C4 to G4, on keyboard I, enclosed; swell.toml\n"
        "pedal: 5 notes, C4 to E4, on keyboard feet; pedal.toml\n"
        "\nDivision great\n"
    )
    for name, file in (("great", "great"), ("II", "swell"), ("pedal", "pedal")):
        _, _, own = said.out.partition(f"\nDivision {name}\n")
        assert own.startswith(f"{file}.toml: Invented ")
    one = keyaction("check", "organ.toml", "--note", "II/D4")
    assert "\nDivision II\n" in one.out and "note D4 is shown" in one.out
    assert "Division great" not in one.out


def test_check_of_one_division_says_what_check_of_its_case_says(keyaction):
    """What is set in the instrument is all the difference: the same values, from elsewhere."""
    said = keyaction("check", "organ.toml", "--division", "great")
    case = keyaction("check", "great.toml")
    _, _, own = said.out.partition("\nDivision great\n")
    assert own.splitlines()[:2] == case.out.splitlines()[:2]
    assert "box: 80 mmH2O" in own and "box: 70 mmH2O" in case.out


def test_equations_of_each_division(keyaction):
    said = keyaction("equations", "organ.toml", "--note", "great/C4,pedal/C4")
    assert said.status == 0
    assert [line for line in said.out.splitlines() if line.startswith(("Division", "Invented"))] == [
        "Division great",
        "Invented short action: note C4",
        "Division pedal",
        "Invented pedal action: note C4",
    ]
    latex = keyaction("equations", "organ.toml", "--note", "C4", "--form", "latex")
    names = ["% great/C4", "% II/C4", "% pedal/C4"]
    assert [line for line in latex.out.splitlines() if line in names] == names


def test_weigh_shows_each_division_and_writes_one_table(keyaction):
    said = keyaction("weigh", "organ.toml", "--notes", "C4,great/D4", "--laid", "none", "--csv", "w.csv")
    assert said.status == 0
    assert [line for line in said.out.splitlines() if ": Invented" in line] == list(TITLES)
    rows = list(csv.reader((keyaction.folder / "w.csv").open()))
    assert rows[0][:2] == ["division", "note"]
    assert [row[:2] for row in rows[1:]] == [["great", "C4"], ["great", "D4"], ["II", "C4"], ["pedal", "C4"]]
    alone = keyaction("weigh", "organ.toml", "--division", "II", "--notes", "C4", "--laid", "none", "--csv", "w.csv")
    assert alone.status == 0
    assert list(csv.reader((keyaction.folder / "w.csv").open())) == [rows[0], rows[3]]


def test_springs_and_tune_show_each_division(keyaction):
    said = keyaction("springs", "organ.toml", "--notes", "C4", "--csv", "s.csv")
    assert [line for line in said.out.splitlines() if ": Invented" in line] == list(TITLES)
    assert said.out.count("Caution: a pallet spring") == 1
    rows = list(csv.reader((keyaction.folder / "s.csv").open()))
    assert [row[:2] for row in rows[1:]] == [["great", "C4"], ["II", "C4"], ["pedal", "C4"]]
    words = ("--pluck", "150 gf", "--return-time", "1 s", "--repetition", "0.5 Hz", "--feed", "0.1")
    tuned = keyaction("tune", "organ.toml", "--notes", "great/C4,II/C4", *words, "--csv", "t.csv")
    assert [line for line in tuned.out.splitlines() if ": Invented" in line] == list(TITLES[:2])
    assert [row[:2] for row in csv.reader((keyaction.folder / "t.csv").open())][1:] == [["great", "C4"], ["II", "C4"]]


def test_a_tuned_case_is_the_division_s_own_with_other_springs(keyaction):
    words = ("--pluck", "150 gf", "--return-time", "1 s", "--repetition", "0.5 Hz", "--feed", "0.1")
    said = keyaction("tune", "organ.toml", "--division", "II", "--notes", "C4", *words, "--out", "tuned.toml")
    assert said.status == 0, said
    text = (keyaction.folder / "tuned.toml").read_text()
    assert text.startswith((keyaction.folder / "swell.toml").read_text().rstrip("\n"))
    organ = (keyaction.folder / "organ.toml").read_text().replace("swell.toml", "tuned.toml")
    (keyaction.folder / "organ.toml").write_text(organ)
    result = run(read_instrument(keyaction.folder / "organ.toml"), "II/C4")
    assert result.value("pluck_force", "II/C4") == pytest.approx(0.150 * 9.80665, rel=0.03)


def test_compare_takes_one_division_as_it_stands(keyaction):
    words = ("--set", "box.temperature=12 degC,30 degC", "--notes", "great/C4,great/D4", "--note", "D4", "--out", "c")
    said = keyaction("compare", "organ.toml", "--division", "great", *words)
    assert said.status == 0, said.err
    result = load(keyaction.folder / "c" / "compare.h5")
    assert result.notes == ["C4", "D4"]
    own = run(read_instrument("organ.toml"), "great/C4")
    assert result["pluck_force"][0, 0] == pytest.approx(own.value("pluck_force", "great/C4"), rel=2e-3)
    assert str(result["curve_note"][0]) == "D4"


def test_a_study_of_one_division(keyaction):
    def study(division: str) -> str:
        told = study_text('plan = "random"\ndesigns = 8').replace('"short.toml"', f'"organ.toml"\n{division}')
        (keyaction.folder / "some.toml").write_text(told.replace('notes = "all"', 'notes = "C4"'))
        return "some.toml"

    assert keyaction("sweep", study('division = "II"'), "--out", "swept", "--judge", "0", "--jobs", "1").status == 0
    table = "some.toml: [study], field 'division'"
    for division, why in (
        ("", f"{table}: missing; organ.toml is an instrument: name one of its divisions, great, II, pedal"),
        ('division = "pedl"', f"{table} = \"pedl\": there is no such division; did you mean 'pedal'?"),
    ):
        said = keyaction("sweep", study(division), "--dry-run")
        assert (said.status, said.lines) == (2, [why])
    (keyaction.folder / "some.toml").write_text(
        (keyaction.folder / "some.toml").read_text().replace("organ.toml", "great.toml")
    )
    said = keyaction("sweep", "some.toml", "--dry-run")
    assert said.lines == [f'{table} = "pedl": goes with an instrument; great.toml is an action case']


def test_materials_of_a_division(keyaction):
    said = keyaction("materials", "yew", "--case", "organ.toml", "--division", "pedal")
    assert said.status == 0
    assert "700 kg/m³" in said.out


# -- results ---------------------------------------------------------------------------------------------
def test_run_shows_each_division_and_writes_one_file(keyaction):
    said = keyaction("run", "organ.toml", "--division", "II,great", "--notes", "C4", "--plots", "pics", "--jobs", "1")
    assert said.status == 0, said.err
    assert [line.rstrip() for line in said.out.splitlines() if ": Invented" in line] == list(TITLES[:2])
    assert load(keyaction.folder / "organ.h5").notes == ["great/C4", "II/C4"]
    assert sorted(path.name for path in (keyaction.folder / "pics").iterdir()) == ["II", "great"]
    assert (keyaction.folder / "pics" / "II" / "feel-C4.png").exists()


@pytest.mark.long
def test_run_with_spread_of_each_division(keyaction):
    said = keyaction("run", "organ.toml", "--notes", "great/C4,II/C4", "--spread", "4", "--jobs", "1")
    assert said.status == 0, said.err
    for result in load(keyaction.folder / "organ.h5").values():
        assert result["pluck_force_spread"].shape == (1, 3)


def test_show_of_all_of_some_and_of_one_note(keyaction):
    every = keyaction("show", "organ.h5")
    assert [line.rstrip() for line in every.out.splitlines() if ": Invented" in line] == list(TITLES[:2])
    some = keyaction("show", "organ.h5", "--division", "II")
    assert some.out == every.out[every.out.index("II: Invented") :]
    for note in ("II/C4", "ii/c4"):
        assert keyaction("show", "organ.h5", "--note", note).out.startswith("II: Invented upper action: note C4")
    both = keyaction("show", "organ.h5", "--note", "C4")
    assert both.out.count(": note C4") == 2
    assert keyaction("show", "organ.h5", "--note", "C#4").out.startswith("great: Invented short action: note C#4")
    assert "case_name: swell.toml" in keyaction("show", "organ.h5", "--division", "II", "--about").out


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ("--note II/C#4", "II: note C#4 is not in this result; it holds C4"),
        ("--note G4", "no division of this result holds 'G4'; it holds great: C4 to C#4; II: C4 to C4"),
        ("--note x/C4", "'x/C4': no division 'x'; known: great, II"),
        ("--division pedal", "--division pedal: no division 'pedal'; known: great, II"),
    ],
)
def test_show_of_what_there_is_not(keyaction, words, why):
    said = keyaction("show", "organ.h5", *words.split())
    assert (said.status, said.out, said.lines) == (2, "", [why])


def test_show_of_a_result_without_divisions(keyaction):
    run(read_instrument("organ.toml").divisions["II"], "C4", "own.h5")
    said = keyaction("show", "own.h5", "--division", "II")
    assert said.lines == ["--division II: own.h5 is of an action case and has no divisions"]


def test_pictures_of_a_shown_result_lie_in_a_folder_per_division(keyaction):
    said = keyaction("show", "organ.h5", "--note", "II/C4", "--plots", "pics")
    assert said.status == 0
    assert [path.name for path in (keyaction.folder / "pics").iterdir()] == ["II"]


def test_report_has_a_page_for_each_division_and_one_that_leads_to_them(keyaction):
    said = keyaction("report", "organ.h5", "--out", "page")
    assert said.status == 0, said.err
    folder = keyaction.folder / "page"
    page = (folder / "report.html").read_text()
    assert '<a href="great/report.html">' in page and '<a href="II/report.html">' in page
    assert "Three small divisions" in page
    for name in ("great", "II"):
        assert f"{name}: Invented" in (folder / name / "report.html").read_text()
        assert (folder / name / "springs.csv").exists()
    rows = list(csv.reader((folder / "divisions.csv").open()))
    assert [row[:3] for row in rows[1:]] == [
        ["great", "Invented short action", "2, C4 to C#4"],
        ["II", "Invented upper action", "1, C4 to C4"],
    ]
    least = float(rows[2][rows[0].index("pluck force, least (gf)")])
    assert least == pytest.approx(load("organ.h5").value("pluck_force", "II/C4") / 9.80665e-3, abs=0.1)


def test_report_plays_an_instrument_first(keyaction):
    said = keyaction("report", "organ.toml", "--notes", "pedal/C4", "--weigh", "--out", "page", "--jobs", "1")
    assert said.status == 0, said.err
    assert load(keyaction.folder / "page" / "organ.h5").notes == ["pedal/C4"]
    assert (keyaction.folder / "page" / "pedal" / "weigh-off.csv").exists()
