"""A note whose friction is out of line with its neighbours is named and left; the others are tuned as without it."""

import math
from dataclasses import replace

import numpy as np
import pytest
from command_line import said

from keyaction.cases.action.reader import read_case
from keyaction.cases.tuning.targets import read_targets
from keyaction.sim.tune import friction
from keyaction.sim.tune.bench import Bench
from keyaction.sim.tune.friction import out_of_line
from keyaction.sim.tune.search import tune
from keyaction.sim.tune.sheet import stopped
from keyaction.sim.weighing.weighoff import weigh

NOTES = [57, 58, 59, 60, 61, 62, 63]


@pytest.fixture(scope="module")
def dirty(tmp_path_factory):
    """The demo with a dirty pin in C4's roller, 8 N mm in place of 0.3."""
    return _case(tmp_path_factory.mktemp("dirty"), "8 N*mm")


def _case(folder, breakaway):
    demo = read_case("demo-wood")
    path = folder / "dirty.toml"
    path.write_text(f'{demo.text}\n[notes.C4.roller]\npin = {{ breakaway = "{breakaway}" }}\n', encoding="utf-8")
    for name, text in demo.files.items():
        (folder / name).write_text(text, encoding="utf-8")
    return read_case(path)


def ratio(times=2.0, notes=NOTES):
    return np.full(len(notes), times)


def test_a_dirty_pin_is_found_and_placed(dirty):
    (note, rubbing), *others = out_of_line(Bench(dirty), NOTES, ratio()).items()
    assert (note, others) == (60, [])
    assert rubbing.part == "roller" and "break-away" in rubbing.doc
    assert (rubbing.value, rubbing.others) == (pytest.approx(8e-3), pytest.approx(0.3e-3))
    # A second way to the friction: half of what the statics weigh down and up with the wind off.
    weighed = {one.note: one.friction for one in weigh(dirty, [59, 60])}
    assert rubbing.friction == pytest.approx(weighed[60], rel=0.1)
    assert rubbing.usual == pytest.approx(weighed[59], rel=0.1)


def test_the_threshold_is_what_it_says(dirty):
    (rubbing,) = out_of_line(Bench(dirty), [60], ratio(notes=[60])).values()
    times = rubbing.friction / rubbing.usual
    assert out_of_line(Bench(dirty), [60], np.array([times * 1.001])) == {}
    assert 60 in out_of_line(Bench(dirty), [60], np.array([times * 0.999]))
    words = rubbing.words("trade")
    assert f"({times:.1f} times; beyond 2 it is out of line)" in words and "it keeps its spring" in words


def test_nothing_is_out_of_line_in_a_sound_manual():
    case = read_case("demo-wood")
    assert out_of_line(Bench(case), list(case.compass), ratio(notes=case.compass)) == {}


def test_a_small_difference_is_no_dirt(tmp_path, monkeypatch):
    # Where little rubs, a few gram-force are many times as much, and still nothing.
    case = read_case(_case(tmp_path, "2 N*mm").path, set_={"roller.pin.coefficient": "0.02"})
    assert out_of_line(Bench(case), [60], ratio(notes=[60])) == {}
    monkeypatch.setattr(friction, "LEAST", 0.0)
    assert 60 in out_of_line(Bench(case), [60], ratio(notes=[60]))


def test_a_key_that_hangs_is_out_of_line_too(tmp_path):
    (rubbing,) = out_of_line(Bench(_case(tmp_path, "40 N*mm")), [60], ratio(notes=[60])).values()
    assert rubbing.part == "roller" and rubbing.friction > 10 * rubbing.usual


def test_the_note_is_left_and_the_others_do_not_notice(dirty):
    options = {"pluck": "150 gf"}
    tuned = tune(dirty, NOTES, read_targets(dirty, NOTES, options=options))
    clean = read_case("demo-wood")
    others = tune(clean, NOTES, read_targets(clean, NOTES, options=options))
    for one, other in zip(tuned, others, strict=True):
        if one.note == 60:
            assert one.kept and one.faults == ("friction",) and one.rubbing
            assert one.force == one.before and other.force < other.before
        else:
            assert one.force == pytest.approx(other.force, rel=1e-6) and not one.faults


def test_evenness_is_not_asked_of_it(dirty):
    targets = read_targets(dirty, NOTES, options={"even": "1 %"})
    tuned = {one.note: one for one in tune(dirty, NOTES, targets)}
    assert tuned[60].force == tuned[60].before
    assert [note for note, one in tuned.items() if one.faults] == [60]


def test_it_can_be_tuned_all_the_same(dirty):
    targets = read_targets(dirty, NOTES, options={"pluck": "160 gf", "friction": 100.0})
    (one,) = [one for one in tune(dirty, NOTES, targets) if one.note == 60]
    assert one.rubbing is None and one.force != one.before


def test_the_command_names_it_first_and_writes_no_spring_for_it(dirty, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    status, out, err = said(capsys, "tune", dirty.path, "--pluck", "150 gf", "--notes", "B3:C#4", "--out", "tuned.toml")
    assert (status, err) == (1, "")
    assert out.index("Friction out of line: 1 of 3 notes") < out.index("Springs tuned")
    text = (tmp_path / "tuned.toml").read_text(encoding="utf-8")
    assert "[notes.B3.pallet-spring]" in text and "[notes.C4.pallet-spring]" not in text
    assert max(map(len, out.splitlines())) <= 80


def test_a_note_that_keeps_its_own_spring_says_so_in_numbers_that_there_are(dirty):
    # With evenness alone there is no target: "nan% of the target" stood here.
    targets = read_targets(dirty, NOTES, options={"even": "1 %"})
    one = tune(dirty, NOTES, targets)[0]
    kept = replace(one, kept=True, faults=("pluck",), rubbing=None)
    words = stopped(kept, targets, 0, "trade")
    assert math.isnan(one.target) and "nan" not in words
    assert "it keeps its own of" in words
