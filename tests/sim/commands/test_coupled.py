"""Couplers on the command line: what is drawn, what is told, and every slip with status 2 and nothing written."""

import pytest
from command_line import Keyaction
from small_couplers import SWELL, coupler, write_coupled

from keyaction.sim.files.hdf5 import load

SIXTH = coupler("II/I 6", "great", "II", 'pitch = 4\nplay = "3 mm"')
BACK = coupler("I/II", "II", "great")


@pytest.fixture
def keyaction(tmp_path, monkeypatch, capsys):
    write_coupled(tmp_path, SWELL, SIXTH, BACK)
    monkeypatch.chdir(tmp_path)
    return Keyaction(tmp_path, capsys)


@pytest.mark.parametrize(
    ("options", "line"),
    [
        (["--coupled", "II/J"], "organ.toml: no coupler 'II/J'; did you mean 'II/I'?"),
        (["--coupled", ""], "organ.toml: a coupler's name is missing; there are II/I, II/I 6, I/II"),
        (
            ["--coupled", "II/I,I/II"],
            "organ.toml: the couplers II/I, I/II go round in a loop: 'great' would move itself",
        ),
        (["--coupled", "II/I", "--held", "pedal"], "organ.toml: held: no drawn coupler moves 'pedal'; moved: II"),
        (["--held", "II"], "--held II: another hand holds what couplers move; draw them with --coupled"),
        (
            ["--coupled", "II/I", "--spread", "5"],
            "--spread: draws are of divisions alone; leave out --coupled, or --spread",
        ),
        (["--coupled", "II/I", "--notes", "great/C9"], "great: 'C9'"),
    ],
)
def test_slips(keyaction, options, line):
    before = keyaction.tree()
    said = keyaction("run", "organ.toml", *options)
    assert (said.status, said.out) == (2, "")
    assert said.lines[0].startswith(line), said.lines
    assert keyaction.tree() == before


def test_an_action_case_has_no_couplers(keyaction):
    said = keyaction("run", "great.toml", "--coupled", "II/I")
    assert said.status == 2
    assert said.lines == [
        "--coupled II/I: great.toml is an action case and has no couplers; leave the option out, or name an instrument"
    ]


def test_run_tells_what_couples_nothing(keyaction, tmp_path):
    said = keyaction("run", "organ.toml", "--coupled", "II/I 6", "--notes", "E4,G4", "--out", "some.h5", "--jobs", "1")
    assert said.status == 0
    assert "note: great: no drawn coupler reaches another key at E4, G4; played alone" in said.err
    assert "note: II/I 6 couples nothing at E4, G4 of great: II has no G#4 to B4" in said.err
    assert load(tmp_path / "some.h5").about["coupled"] == "II/I 6"


def test_check_lists_couplers(keyaction):
    said = keyaction("check", "organ.toml", "--division", "pedal")
    assert said.status == 0
    text = " ".join(said.out.split())
    assert "II/I great unison key 0.4 mm II lever key" in text
    assert "II/I 6 great +4 semitones key 3 mm" in text
    assert "Assumptions of the couplers" in text
    assert "- II/I 6 couples nothing at E4 to G4 of great: II has no G#4 to B4" in text
    assert "[[coupler]] II/I 6, field 'play' = 3 mm at C4 to G4: outside the usual" in text


def test_check_gathers_missing_fields_of_couplers(keyaction, tmp_path):
    write_coupled(tmp_path, coupler("II/I", "great", "II", kind="lever"))
    case = (tmp_path / "swell.toml").read_text()
    (tmp_path / "swell.toml").write_text(case.replace('dip = "9.5 mm"\n', ""))
    said = keyaction("check", "organ.toml")
    assert said.status == 2
    assert "organ.toml: II: key, field dip: missing (every note)" in said.lines
    assert "organ.toml: [[coupler]] II/I, field in_arm: missing (every note)" in said.lines
