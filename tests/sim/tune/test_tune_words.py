"""What stops a note from being tuned, in words that say what is meant."""

import math

import numpy as np
import pytest
from command_line import said as spoken
from workshop_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.tuning.targets import Targets
from keyaction.sim.figures.verdict import Fate, Verdict
from keyaction.sim.tune.search import TunedNote
from keyaction.sim.tune.sheet import freeing, stopped
from keyaction.sim.tune.verify import Task, verify_note

GF = 9.80665e-3
ROW = np.ones(1)
TARGETS = Targets(150 * GF * ROW, np.inf * ROW, 0.03 * ROW, ROW, ROW, 6 * ROW, 3 * ROW, ROW, 5 * ROW, ROW)
EVERY = ("pluck", "closing", "return_time", "repetition", "feed", "even")
"""All that a note can miss."""
SHORT = "pressed 10.5 mm down, the key leaves the pallet 0.4 mm short"


@pytest.mark.parametrize(
    ("pluck", "told"), [(933.0, "a pluck of 933 gf, 522 % above the 150 gf"), (120.0, "120 gf, 20 % below the 150 gf")]
)
def test_a_pluck_that_misses_is_told_by_how_much_and_of_what(pluck, told):
    figures = {"pluck_force": pluck * GF, "feed": 2.0}
    note = TunedNote(60, 3.0, 5.0, 2.0, 150 * GF, figures, "strongest", ("pluck",), 150 * GF, 0.3)
    said = stopped(note, TARGETS, 0, "trade").replace("%", " %")
    assert told in said and said.endswith("asked for")


def unsound(fate, pluck, kept, reason=SHORT, lift=math.nan):
    figures = {"pluck_force": pluck * GF, "feed": lift}
    told = Verdict(fate, reason)
    return TunedNote(60, 2.0, 2.0, 1.5, 150 * GF, figures, "", EVERY, 150 * GF, 0.3, kept, verdict=told)


def test_a_note_that_does_not_speak_says_so_and_nothing_that_it_does_not_have():
    said = stopped(unsound(Fate.MUTE, math.nan, True), TARGETS, 0, "trade")
    assert said.startswith(f"does not speak: {SHORT}; it keeps its spring of 204 gf")
    assert "nan" not in said and "release" not in said and "repetition" not in said and "evenness" not in said
    assert "no allowed spring gives a closing margin" in said  # that it has, whatever its pallet does


def test_a_note_that_sounds_unplayed_is_not_said_to_have_a_pallet_that_stays_shut():
    one = unsound(Fate.CIPHER, 117.0, True, "the groove holds 53 % of the wind with the key at rest", 2.0)
    said = stopped(one, TARGETS, 0, "trade")
    assert said.startswith("sounds unplayed (a cipher): the groove holds 53 %") and "does not open" not in said
    assert "full opening is 2 times the drawn toes" in said and "release" not in said
    assert freeing(one, [], "trade") == "Mend that before its spring"


def test_a_note_that_hangs_is_told_what_no_spring_gives_it():
    one = unsound(Fate.HANGS, 311.0, False, "let go, the pallet stays 5.4 mm open", 4.0)
    said = stopped(one, TARGETS, 0, "trade")
    assert said.startswith("hangs: let go, the pallet stays 5.4 mm open; it stays at a pluck of 311 gf")
    assert "no allowed spring gives a release" in said and "no allowed spring gives a repetition" in said
    assert freeing(one, [], "trade").startswith("No one change")


FAULTS = """
[notes.D4.level-tracker]
lost_motion = "12 mm"
[notes.E4.pallet]
seat_leak = "60 mm^2"
"""


def test_the_command_says_what_becomes_of_notes_that_no_spring_tunes(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    path = write_case(tmp_path, more=FAULTS)
    status, out, _ = spoken(capsys, "tune", path, "--pluck", "150 gf", "--notes", "C#4:E4")
    told = " ".join(out.split())
    assert status == 1 and "nan" not in told and "not confirmed" not in told
    assert "D4: does not speak: pressed" in told and "E4: sounds unplayed (a cipher): wind leaks past" in told
    assert max(map(len, out.splitlines())) <= 80


def test_a_note_without_pluck_is_never_left_without_a_reason(tmp_path):
    case = read_case(write_case(tmp_path, more=FAULTS))
    parts = tuple((part.part, part.name, case.values(62, part)) for part in case.parts)
    _, seen = verify_note(Task(62, parts, case.library, case.strokes, 0.0))
    assert math.isnan(seen.pluck) and seen.reason.startswith("does not speak: pressed")
