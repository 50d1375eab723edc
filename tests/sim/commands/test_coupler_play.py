"""keyaction tune --coupler-play: tables, files that read back, and every slip with status 2 and nothing written."""

import csv
import io

import pytest
from command_line import Keyaction
from small_couplers import SWELL, coupler, write_coupled

from keyaction.cases.instrument.reader import read_instrument
from keyaction.models.parts.key import Key

SIXTH = coupler("II/I 6", "great", "II", 'pitch = 4\nplay = "0.6 mm"')
BACK = coupler("I/II", "II", "great")
TUNE = ("tune", "organ.toml", "--coupler-play", "--jobs", "1")


@pytest.fixture
def keyaction(tmp_path, monkeypatch, capsys):
    write_coupled(tmp_path, SWELL, SIXTH, BACK)
    monkeypatch.chdir(tmp_path)
    return Keyaction(tmp_path, capsys)


@pytest.mark.parametrize(
    ("options", "lines"),
    [
        (["--coupled", "II/J"], ["organ.toml: no coupler 'II/J'; did you mean 'II/I'?"]),
        (["--coupled", "II/I", "--notes", "great/C9"], ["great: 'C9'"]),
        (["--pluck", "150 gf"], ["--pluck: goes with springs; leave it out, or --coupler-play"]),
        (
            ["--least-lift", "0 %", "--least-play", "1", "--stagger", "40 mm", "--pitch", "0 mm"],
            [
                "--least-play: '1' has no unit",
                "--stagger: '40 mm' is outside what is allowed: above 0 up to 10 mm",
                "--pitch: '0 mm' is outside what is allowed: above 0 up to 5 mm",
                "--least-lift: '0 %' is outside what is allowed: above 0 up to 100 %",
            ],
        ),
    ],
)
def test_slips(keyaction, options, lines):
    before = keyaction.tree()
    said = keyaction(*TUNE, *options)
    assert (said.status, said.out) == (2, "")
    assert len(said.lines) >= len(lines)
    for told, line in zip(said.lines, lines, strict=False):
        assert told.startswith(line), said.lines
    assert keyaction.tree() == before


def test_an_action_case_has_no_couplers(keyaction):
    said = keyaction("tune", "great.toml", "--coupler-play")
    told = (
        "--coupler-play: great.toml is an action case and has no couplers; name an instrument, or leave the option out"
    )
    assert (said.status, said.lines) == (2, [told])


def test_an_instrument_without_couplers(keyaction, tmp_path):
    write_coupled(tmp_path)
    said = keyaction(*TUNE)
    assert (said.status, said.lines) == (2, ["organ.toml: organ.toml has no couplers: it has no [[coupler]] table"])


def test_options_of_couplers_need_the_word(keyaction):
    said = keyaction("tune", "organ.toml", "--stagger", "0.4mm", "--coupled", "II/I")
    told = "--coupled, --stagger: goes with --coupler-play, which regulates couplers; give that as well"
    assert (said.status, said.lines) == (2, [told])


def test_a_schedule_and_a_file_that_reads_back(keyaction, tmp_path):
    said = keyaction(
        *TUNE, "--coupled", "II/I", "--notes", "C4,D4", "--least-lift", "80 %", "--stagger", "1mm", "--out", "set"
    )
    assert said.status == 0, said.err
    assert max(map(len, said.out.split("written")[0].splitlines())) <= 80
    for words in ("Order of regulation", "II/I: great moves II, unison", "do the driven pallets open?", "wind off"):
        assert words in said.out
    names = {path.name for path in (tmp_path / "set").iterdir()}
    assert names == {"schedule.csv", "lifts.csv", "stagger.csv", "plays-great.csv", "play-ii-i.png"}
    rows = list(csv.DictReader(io.StringIO((tmp_path / "set" / "schedule.csv").read_text())))
    assert [row["note"] for row in rows] == ["C4", "D4"]
    turns, was, now = (float(rows[0][name]) for name in ("turns of the nut", "play as stated (mm)", "play as set (mm)"))
    assert turns == pytest.approx((now - was) / 0.5, abs=0.01)
    line = next(line.split(": ", 1)[1] for line in said.out.splitlines() if line.startswith("  II/I: play"))
    path = tmp_path / "organ.toml"
    path.write_text(path.read_text().replace('play = "0.4 mm"', line))
    again = read_instrument(path).couplers["II/I"]
    assert [float(again.fields["play"][note].value) * 1e3 for note in (60, 62)] == pytest.approx(
        [float(row["play as set (mm)"]) for row in rows], abs=1e-6
    )
    settings = list(csv.DictReader(io.StringIO((tmp_path / "set" / "stagger.csv").read_text())))
    assert [row["setting"] for row in settings[:4]] == ["no play", "as stated", "1 mm apart", "as set"]
    if settings[2]["play (mm)"]:
        assert float(settings[2]["key travel between the plucks (mm)"]) == pytest.approx(1.0, abs=0.02)
    before = keyaction.tree()
    said = keyaction(*TUNE, "--coupled", "II/I", "--notes", "C4", "--out", "set")
    assert said.status == 2 and "is there already; choose another --out, or give --force" in said.lines[0]
    assert keyaction.tree() == before


def test_a_lift_that_cannot_be_had_is_told_note_by_note(keyaction):
    said = keyaction(*TUNE, "--coupled", "II/I", "--notes", "C4", "--least-lift", "40 mm")
    assert said.status == 1
    told = " ".join(said.out.split())
    assert "left as it is" in told and "no play can mend that" in told
    assert "C4! 0.40 0.40 0.00" in told


def test_what_couples_nothing_is_told(keyaction):
    said = keyaction(*TUNE, "--coupled", "II/I 6", "--notes", "E4,G4")
    assert "II/I 6 couples nothing at E4, G4 of great: II has no G#4 to B4" in " ".join(said.out.split())
    assert said.status == 0


@pytest.mark.one_in(2)
@pytest.mark.parametrize("options", [[], ["--out", "set"]])
def test_what_closes_a_loop_is_regulated_apart(keyaction, tmp_path, options):
    said = keyaction(*TUNE, "--notes", "great/C4,II/C4", "--least-lift", "50 %", *options)
    assert said.status == 0, said.err + said.out
    told = " ".join(said.out.split())
    assert "I/II: left out above, for with II/I, II/I 6 it closes a loop; regulated by itself" in told
    assert "I/II: II moves great, unison" in told and "II/I: great moves II, unison" in told
    if options:
        rows = list(csv.DictReader(io.StringIO((tmp_path / "set" / "schedule.csv").read_text())))
        assert [row["coupler"] for row in rows] == ["II/I", "II/I 6", "I/II"]
        assert {"play-ii-i.png", "play-i-ii.png", "plays-ii.csv", "plays-great.csv"} <= {
            path.name for path in (tmp_path / "set").iterdir()
        }


def test_a_loop_that_is_asked_for_is_refused(keyaction):
    said = keyaction(*TUNE, "--coupled", "II/I,I/II")
    assert said.status == 2 and "go round in a loop" in said.lines[0]


def test_plucks_that_are_apart_with_no_play_say_how_far(keyaction):
    said = keyaction(*TUNE, "--coupled", "II/I", "--notes", "C4", "--least-lift", "50 %", "--stagger", "0.1mm")
    told = " ".join(said.out.split())
    rows = [line for line in said.out.splitlines() if "no play" in line and line.startswith("C4")]
    apart = next(word for word in rows[0].split()[6:] if "." in word)
    assert f"great, II/I at C4: already {apart[:-1]}" in told and "apart with no play." in told


def test_less_lift_than_asked_for_is_a_failure(keyaction):
    said = keyaction(*TUNE, "--coupled", "II/I", "--notes", "C4", "--least-lift", "40 mm")
    assert said.status == 1
    told = "Less lift than was asked for, all these couplers drawn: ii-pallet at C4 of great (exit status 1)."
    assert " ".join(said.out.split()).endswith(told)


def test_heavy_by_the_one_limit_of_coupled_keys(keyaction, monkeypatch):
    arguments = (*TUNE, "--coupled", "II/I", "--notes", "C4", "--least-lift", "50 %")
    assert "Heavy" not in keyaction(*arguments).out
    monkeypatch.setattr(Key, "usual_coupled", (1.0, 1.5))
    told = " ".join(keyaction(*arguments).out.split())
    assert "great: Heavy: C4 plucks with" in told and "more than 153 gf, the most that coupled keyboards" in told
    assert "set apart" not in told  # the plays have just been set


def test_words_of_what_is_measured(keyaction):
    said = keyaction(*TUNE, "--coupled", "II/I", "--notes", "C4", "--least-lift", "50 %")
    told = " ".join(said.out.split())
    assert "opens: its groove opens (50 % of its wind) so much after" in told
    assert "with the key held at the bottom by 5 N:" in told
    assert "speaks" not in told and "speech" not in told
