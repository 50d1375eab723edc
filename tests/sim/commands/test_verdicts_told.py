"""What check and show say of notes that do not do as they should, and of rates that are but the highest tried."""

import re

import pytest
from short_case import start_case, write_case

FAULTS = """
[notes.D4.pull-down]
lost_motion = "12 mm"
[notes.E4.pallet]
seat_leak = "60 mm^2"
[notes.F4.pallet-spring]
force = "0.01 N"
[notes.G4.pallet-spring]
force = "1.2 N"
[notes.G4.key]
pin = { breakaway = "100 N*mm" }

[strokes]
repetition_highest = "6 Hz"
"""
PLAYED = ("C#4", "D4", "E4", "F4", "G4")


@pytest.fixture(scope="module")
def faulty(tmp_path_factory):
    """A folder with a case of such notes, and its result."""
    from keyaction.cases.action.reader import read_case
    from keyaction.sim.run.run import run

    made = tmp_path_factory.mktemp("faulty")
    result = run(read_case(write_case(made, more=FAULTS)), ",".join(PLAYED), out=made / "short.h5")
    assert [str(status)[:6] for status in result["status"]] == ["ok", "ok", "ok", "failed", "ok"]
    return made


def spoken(said):
    """What was said in one line, as a reader takes it in."""
    assert said.status == 0
    return " ".join(said.out.split())


@pytest.mark.parametrize(
    ("note", "sentence", "lacking"),
    [
        ("C#4", "The note speaks and falls silent.", ""),
        ("D4", "The note does not speak: pressed", "pallet lift: the note does not speak."),
        ("E4", "The note sounds unplayed (a cipher): wind leaks past the shut pallet: the groove holds", ""),
        ("F4", "The note hangs: ", ""),
        ("G4", "The note hangs: let go, the pallet stays", "friction at the key: the note hangs"),
    ],
)
def test_check_tells_what_there_is_and_why_the_rest_is_not(keyaction, faulty, note, sentence, lacking):
    told = spoken(keyaction("check", faulty / "short.toml", "--note", note))
    assert sentence in told and lacking in told
    assert " - " not in told[told.index("The note ") : told.index("By levers alone")]
    assert ("Pressed slowly: pluck at" in told) == (note != "D4")


def test_a_note_that_hangs_has_no_friction_though_its_key_comes_up(keyaction, tmp_path):
    path = start_case(tmp_path)
    path.write_text(path.read_text("utf-8") + '\n[notes.C4.roller]\npin = { breakaway = "60 N*mm" }\n', "utf-8")
    told = spoken(keyaction("check", path, "--note", "C4"))
    assert "The note hangs: let go" in told and "friction at the key: the note hangs" in told
    assert not re.search(r"Pressed slowly: [^.]*friction", told)


def test_show_tells_of_every_dash_why_it_is_one(keyaction, faulty):
    for note, why in (("D4", "the note does not speak"), ("E4", "the note sounds unplayed"), ("G4", "the note hangs")):
        told = spoken(keyaction("show", faulty / "short.h5", "--note", note))
        for label, words in (
            ("release delay", "From the finger's lift"),
            ("repetition rate", "Highest rate of the repeated stroke"),
        ):
            row = told[re.search(rf"{label} +- {words}", told).start() :]
            assert f"None: {why}." in row[:400], (note, label)
        assert "repetition is limited" not in told


def test_show_of_a_failed_note_has_its_verdict_and_no_dashes(keyaction, faulty):
    said = keyaction("show", faulty / "short.h5", "--note", "F4")
    told = spoken(said)
    assert re.search(r"verdict hangs: .* not played failed: ", told)
    assert not re.search(r" - ", said.out)
    told = spoken(keyaction("show", faulty / "short.h5"))
    assert "F4: hangs (" in told and "G4: hangs (let go" in told


def test_a_rate_that_is_but_the_highest_tried_is_marked(keyaction, faulty):
    said = keyaction("show", faulty / "short.h5")
    (row,) = [line.split() for line in said.out.splitlines() if line.startswith("C#4 ")]
    assert row[-1] == "6.0+"
    assert "repeat: 6.0+ and more: 6.0 Hz passes, the highest rate tried" in spoken(said)
    told = spoken(keyaction("show", faulty / "short.h5", "--note", "C#4"))
    assert "repetition rate 6 Hz+ " in told
    assert "repetition is limited not up to the highest rate tried" in told


def test_a_rate_that_something_limits_is_not_marked(keyaction, played):
    assert "+ and more" not in keyaction("show", played / "short.h5").out
    assert "Hz+" not in keyaction("show", played / "short.h5", "--note", "C4").out
