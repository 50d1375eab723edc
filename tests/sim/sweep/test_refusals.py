"""Folders that a sweep must not touch: of others, of another study, case or program."""

from __future__ import annotations

import json
import shutil

import pytest
from short_case import write_case
from small_study import assert_equal, small, text

from keyaction.cases.action.reader import read_case
from keyaction.cases.text.defects import CaseProblem
from keyaction.sim.files.begun import manifest_text
from keyaction.sim.files.problem import Unreadable
from keyaction.sim.run import about
from keyaction.sim.run.run import run
from keyaction.sim.sweep.manifest import FORMAT
from keyaction.sim.sweep.sweep import Refused, load_study, run_study, study_result


def test_a_folder_with_other_things_in_it_is_left_alone(tmp_path):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "letter.txt").write_text("dear", encoding="utf-8")
    with pytest.raises(Refused, match=r"other things in it \(letter.txt\)"):
        run_study(small(tmp_path), tmp_path / "out", jobs=1)
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["letter.txt"]
    with pytest.raises(Refused, match="is a file"):
        run_study(small(tmp_path), tmp_path / "short.toml", jobs=1)


def test_a_sweep_that_was_begun_is_only_gone_on_with_when_asked(swept):
    folder, _, _ = swept
    with pytest.raises(Refused, match="add --resume"):
        run_study(load_study(folder / "small.toml"), folder / "out", jobs=1)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (('"2 mm"', '"2.5 mm"'), ["[[vary]] pull-down.diameter has changed"]),
        (("designs = 24", "designs = 24\nseed = 2"), ["seed = 2 was 1"]),
        (("designs = 24", "designs = 23"), ["it has 23 designs where the folder was begun with 24"]),
        (('"random"\ndesigns', '"sobol"\nbase_points'), ['plan = "sobol" was "random"']),
        (('notes = "all"', 'notes = "C4"'), ["notes = [60] was"]),
        (('"pluck_force", ', ""), ["quantities"]),
        (('name = "spring"', 'name = "coil"'), ["[[vary]] spring is gone", "[[vary]] coil is new"]),
    ],
)
def test_another_study_is_refused_and_told_apart(swept, tmp_path, change, words):
    folder, _, _ = swept
    before = {path: path.read_bytes() for path in (folder / "out").rglob("*") if path.is_file()}
    assert text().count(change[0]) == 1
    write_case(tmp_path)
    path = tmp_path / "other.toml"
    path.write_text(text().replace(*change), encoding="utf-8")
    with pytest.raises(Refused, match="another study") as caught:
        run_study(load_study(path), folder / "out", jobs=1, resume=True)
    for word in words:
        assert word in str(caught.value)
    assert {path: path.read_bytes() for path in (folder / "out").rglob("*") if path.is_file()} == before


@pytest.mark.parametrize(("other", "words"), [(FORMAT - 1, "an earlier"), (FORMAT + 1, "a later")])
def test_a_folder_of_another_version_is_refused_in_words(swept, tmp_path, other, words):
    path = tmp_path / "out" / "study.json"
    path.parent.mkdir()
    data = json.loads((swept[0] / "out" / "study.json").read_text(encoding="utf-8"))
    path.write_text(manifest_text(data | {"format": other}), encoding="utf-8")
    said = f"format {other}, written by {words} version; this one reads format {FORMAT}"
    with pytest.raises(Refused, match=said):
        run_study(small(tmp_path), path.parent, jobs=1, resume=True)
    with pytest.raises(Unreadable, match=said):
        study_result(path.parent)


def test_a_changed_case_is_refused(swept, tmp_path):
    folder, _, _ = swept
    write_case(tmp_path, ('force = "3 N"', 'force = "3.1 N"'))
    with pytest.raises(Refused, match=r"the case short\.toml has changed"):
        run_study(small(tmp_path), folder / "out", jobs=1, resume=True)


def test_a_changed_program_is_refused_with_its_versions(swept, monkeypatch):
    folder, _, _ = swept
    monkeypatch.setattr("keyaction.sim.sweep.designs.source_key", lambda: "another")
    known = about.installed
    monkeypatch.setattr(about, "installed", lambda library: "99.0" if library == "scipy" else known(library))
    with pytest.raises(Refused, match=r"the program has changed \(scipy 99\.0 was "):
        run_study(load_study(folder / "small.toml"), folder / "out", jobs=1, resume=True)


def test_blocks_of_another_study_are_not_taken(swept, tmp_path):
    folder, _, _ = swept
    study = small(tmp_path, 'plan = "random"\ndesigns = 24\nseed = 5')
    run_study(study, tmp_path / "whole", jobs=1, judge=0)

    def stop(_):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_study(study, tmp_path / "out", jobs=1, judge=0, progress=stop)
    shutil.copytree(folder / "out" / "blocks", tmp_path / "out" / "blocks", dirs_exist_ok=True)
    run_study(study, tmp_path / "out", jobs=1, judge=0, resume=True)
    assert_equal(tmp_path / "out", tmp_path / "whole")


OPTIONS = """
[[vary]]
name = "wire"
[vary.options.tube]
pull-down = {{ section = "tube"{more} }}
[vary.options.rod]
pull-down = {{ diameter = "2 mm" }}
[vary.options.felt]
pull-down = {{ material = "{material}" }}
"""


def test_options_with_which_no_train_can_be_built_are_refused_at_reading(tmp_path):
    wrong = OPTIONS.format(more="", material="key-felt")
    with pytest.raises(CaseProblem) as caught:
        small(tmp_path, 'plan = "grid"', wrong)
    first, second = str(caught.value).split("\n")
    assert first.startswith("small.toml: [[vary]] wire, field 'tube': no train can be built with it: pull-down, field ")
    assert "wall" in first
    assert second.startswith("small.toml: [[vary]] wire, field 'felt': no train can be built with it: ")
    assert "material 'key-felt' has no 'E'" in second
    assert small(tmp_path, 'plan = "grid"', OPTIONS.format(more=', wall = "0.3 mm"', material="music-wire"))


def test_an_option_that_another_input_makes_whole_is_taken(tmp_path):
    vary = OPTIONS.format(more="", material="music-wire")
    wall = '\n[[vary]]\nfield = "pull-down.wall"\nlow = "0.2 mm"\nhigh = "0.4 mm"\n'
    assert small(tmp_path, 'plan = "grid"', vary + wall)


def test_fewer_than_no_processes_are_refused(tmp_path):
    with pytest.raises(ValueError, match=r"jobs is -1; it must be 0 \(one per core\) or more"):
        run_study(small(tmp_path), tmp_path / "out", jobs=-1)
    with pytest.raises(ValueError, match="jobs is -1"):
        run(read_case(tmp_path / "short.toml"), "C4", jobs=-1)
    assert not (tmp_path / "out").exists()
