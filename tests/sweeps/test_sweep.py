"""A sweep run here: its designs against the same made by hand, its dataset, its command, its refusals."""

from __future__ import annotations

import errno
import json
import os
from pathlib import Path

import h5py
import numpy as np
import pytest
from short_case import write_case
from small_study import VARY, assert_equal, command, finished, leftovers, small, text, write_study

from keyaction.cases.reader import read_case
from keyaction.sim import sparse_hdf5, sweep_store
from keyaction.sim.cli import main
from keyaction.sim.designs import available, evaluate
from keyaction.sim.manual import train_of
from keyaction.sim.store import FileProblem, load
from keyaction.sim.sweep import Refused, State, forecast, load_study, open_study, run_study, study_result
from keyaction.sim.sweep_blocks import Block, Task, compute, cut
from keyaction.sim.sweep_designs import AS_IN_CASE, make_design, recipe_of
from keyaction.sim.sweep_manifest import plan_of

ONE_NOTE = 'notes = "C4"\nquantities = ["pluck_force", "effective_mass"]\n'


@pytest.fixture(scope="module")
def swept(tmp_path_factory):
    """The small study, run whole in this process."""
    folder = tmp_path_factory.mktemp("swept")
    states: list[State] = []
    found = run_study(small(folder), folder / "out", jobs=1, judge=1, progress=states.append)
    return folder, found, states


# -- designs ---------------------------------------------------------------------------------------------
def test_designs_are_those_of_a_case_with_the_values_set_by_hand(swept):
    folder, _, _ = swept
    data = study_result(folder / "out")
    for run in (0, 17):
        wire, factor = (float(data[f"input_{name}"][run]) for name in ("pull-down.diameter", "spring"))
        settings = (("pull-down.diameter", f"{wire!r} m"), ("pallet-spring.force", f"{3 * factor!r} N"))
        case = read_case(folder / "short.toml", set_=settings)
        study = load_study(folder / "small.toml")
        row = plan_of(study).rows(run, run + 1)[0]
        design = make_design(recipe_of(study), row)
        for note, train in zip(study.notes, design.trains, strict=True):
            wanted = train_of(case, note).parameters
            assert {name: item.value for name, item in train.parameters.items()} == pytest.approx(
                {name: item.value for name, item in wanted.items()}, rel=1e-12
            )
        by_hand = evaluate([train_of(case, note) for note in study.notes], case.strokes, study.quantities, sample=0)
        for name in study.quantities:
            # The step of a block follows its stiffest design, so that a block of others agrees to the step's error.
            assert data[name][run] == pytest.approx(by_hand.quantities[name], rel=2e-3), name


def test_a_block_does_not_hang_on_where_it_is_computed(swept):
    folder, _, _ = swept
    study = load_study(folder / "small.toml")
    data = study_result(folder / "out")
    block = cut(plan_of(study), 8, 0)[1]
    again = compute(recipe_of(study), Task(block, plan_of(study).rows(block.start, block.stop)))
    for k, name in enumerate(study.quantities):
        assert np.array_equal(again.values[:, :, k], data[name][block.start : block.stop], equal_nan=True)


def test_strokes_and_materials_may_vary(tmp_path):
    vary = (
        '[[vary]]\nfield = "strokes.down"\nvalues = ["30 ms", "60 ms"]\n'
        '[[vary]]\nfield = "materials.eastern-white-pine.density"\nscale = [0.5, 2]\nlevels = 2\n'
    )
    head = 'notes = "C4"\nquantities = ["opening_time", "effective_mass", "peak_force"]\n'
    run_study(small(tmp_path, 'plan = "grid"', vary, head=head), tmp_path / "out", jobs=1, judge=0)
    data = study_result(tmp_path / "out")
    assert data["input_strokes.down"].tolist() == [0.03, 0.03, 0.06, 0.06]
    assert data.variables["input_strokes.down"].unit == "s"
    mass, opening = data["effective_mass"][:, 0], data["opening_time"][:, 0]
    assert mass[0] == mass[2] < mass[1] == mass[3]
    assert np.all(opening[2:] > 1.05 * opening[:2])
    case = read_case(tmp_path / "short.toml", set_=(("strokes.down", "60 ms"),))
    alone = evaluate([train_of(case, 60)], case.strokes, ["opening_time"], sample=0).quantities["opening_time"][0]
    assert np.interp(1.0, [0.5, 2.0], opening[2:]) == pytest.approx(alone, rel=0.02)


def test_one_at_a_time_begins_with_the_case_itself(tmp_path):
    vary = VARY + '[[vary]]\nname = "wood"\nfields = ["key.material", "pallet.material"]\nvalues = ["sugar-pine"]\n'
    run_study(small(tmp_path, 'plan = "one-at-a-time"', vary, head=ONE_NOTE), tmp_path / "out", jobs=1, judge=0)
    data = study_result(tmp_path / "out")
    assert data["input_pull-down.diameter"] == pytest.approx([1.5e-3, 1e-3, 2e-3, 1.5e-3, 1.5e-3, 1.5e-3])
    assert data["input_spring"] == pytest.approx([1, 1, 1, 0.9, 1.2, 1])
    assert data["input_wood"].tolist() == [AS_IN_CASE] * 5 + ["sugar-pine"]
    case = read_case(tmp_path / "short.toml")
    alone = evaluate([train_of(case, 60)], case.strokes, ["pluck_force"], sample=0).quantities["pluck_force"][0]
    assert data["pluck_force"][0, 0] == pytest.approx(alone, rel=1e-4)
    assert len(set(data["pluck_force"][:, 0])) == 6


def test_a_case_s_own_spreads_scatter_its_figures(tmp_path):
    study = small(tmp_path, 'plan = "tolerances"\nruns = 12', "", head=ONE_NOTE)
    run_study(study, tmp_path / "out", jobs=1, judge=0)
    data = study_result(tmp_path / "out")
    stiffness = data["input_pallet-felt.stiffness"]
    assert len(set(stiffness)) == 12
    assert stiffness.min() > 0
    assert np.std(data["pluck_force"]) > 0
    assert np.std(data["effective_mass"]) > 0


# -- impossible designs ----------------------------------------------------------------------------------
TUBES = """
[[vary]]
name = "wall"
field = "pull-down.wall"
low = "0.1 mm"
high = "0.7842105263157895 mm"

[set]
pull-down.section = "tube"
"""
"""A tube of 1.5 mm: a wall of more than 0.75 mm is impossible, which is a twentieth of the range."""


def test_impossible_designs_are_counted_and_the_others_go_on(tmp_path):
    found = run_study(
        small(tmp_path, 'plan = "latin"\nruns = 40', TUBES, head=ONE_NOTE), tmp_path / "out", jobs=1, judge=1
    )
    assert found.counts == {"ok": 38, "impossible": 2}
    (reason, count), *_ = found.reasons
    assert count <= 2
    assert reason.startswith("impossible: pull-down, field section: ")
    data = study_result(tmp_path / "out")
    wide = data["input_wall"] > 0.75e-3
    assert wide.sum() == 2
    assert np.array_equal(data["status"][:, 0] == "ok", ~wide)
    assert np.array_equal(np.isfinite(data["pluck_force"][:, 0]), ~wide)


def test_designs_that_cannot_be_played_are_values_too(tmp_path):
    vary = VARY + '[[vary]]\nname = "groove"\nfield = "groove.width"\nvalues = ["14 mm", "1e-300 mm"]\n'
    head = 'notes = "C4"\nquantities = ["opening_time", "peak_force"]\n'
    found = run_study(small(tmp_path, 'plan = "grid"', vary, head=head), tmp_path / "out", jobs=1, judge=0)
    assert found.counts == {"ok": 9, "failed": 9}
    data = study_result(tmp_path / "out")
    played = data["input_groove"] > 1e-3
    assert np.array_equal(data["status"][:, 0] == "ok", played)
    assert all(text.startswith("failed: ") for text in data["status"][~played, 0])
    assert np.all(np.isfinite(data["opening_time"][played]))


def test_a_design_that_breaks_the_engine_does_not_take_the_others_along(tmp_path, monkeypatch):
    import keyaction.sim.sweep_blocks as blocks

    real, study = blocks.evaluate, small(tmp_path, 'plan = "random"\nruns = 5', head=ONE_NOTE)
    recipe, rows = recipe_of(study), plan_of(study).rows(0, 5)
    bad = make_design(recipe, rows[3]).trains[0].parameters["force_pallet_spring"].value

    def breaks(trains, *arguments, **options):
        if any(train.parameters["force_pallet_spring"].value == bad for train in trains):
            raise np.linalg.LinAlgError("no such vibration")
        return real(trains, *arguments, **options)

    monkeypatch.setattr(blocks, "evaluate", breaks)
    found = compute(recipe, Task(Block(0, 0, 5, 0), rows))
    assert [status.partition(":")[0] for status in found.status] == ["ok", "ok", "ok", "failed", "ok"]
    assert found.status[3] == "failed: LinAlgError: no such vibration"


def test_a_factor_that_leaves_the_allowed_range_at_one_note_is_impossible_there(tmp_path):
    study = small(tmp_path, 'plan = "grid"', '[[vary]]\nfield = "pull-down.length"\nscale = [0.9, 1.1]\n')
    recipe = recipe_of(study)
    wide = make_design(recipe, np.array([1.0]))
    assert not any(isinstance(train, str) for train in wide.trains)
    one = recipe.inputs[0]
    far = type(one)(one.name, type(one.span)(0.9, 78.0), one.targets, True)
    found = make_design(type(recipe)(**{**vars(recipe), "inputs": (far,)}), np.array([1.0])).trains
    assert isinstance(found[-1], str)
    assert found[-1].startswith("impossible: pull-down.length = 2")
    assert not isinstance(found[0], str)


# -- the dataset -----------------------------------------------------------------------------------------
def test_the_dataset_opens_in_xarray_and_pandas(swept):
    pytest.importorskip("xarray")
    folder, found, _ = swept
    data = found.open()
    assert dict(data.sizes) == {"run": 24, "note": 8}
    assert data.pluck_force.dims == ("run", "note")
    assert data.pluck_force.attrs["units"] == "N"
    assert data.pluck_force.attrs["long_name"] == "pluck force"
    assert "slow press" in data.pluck_force.attrs["definition"]
    assert data["input_pull-down.diameter"].attrs["units"] == "m"
    assert data["input_spring"].attrs["units"] == "1"
    assert data.attrs["study"] == (folder / "small.toml").read_text(encoding="utf-8")
    assert data.attrs["title"] == "Small"
    assert json.loads(data.attrs["counts"]) == {"ok": 192}
    assert not data.pluck_force.variable._in_memory
    assert float(data.pluck_force.sel(note="D4", run=3)) > 0
    frame = data.to_dataframe()
    assert len(frame) == 192
    assert (frame.status == "ok").all()
    assert frame.loc[(3, "D4"), "pluck_force"] == float(data.pluck_force.sel(note="D4", run=3))
    assert set(frame.columns) >= {"input_spring", "opening_time", "repetition_limit"}
    data.close()


def test_the_dataset_is_a_result_file_of_this_program(swept):
    folder, found, _ = swept
    assert found.path == folder / "out" / "results.h5"
    plain, decoded = load(found.path), study_result(folder / "out")
    assert plain.notes == ["C4", "C#4", "D4", "D#4", "E4", "F4", "F#4", "G4"]
    assert set(plain.variables) == set(decoded.variables)
    assert plain["semitone"].tolist() == list(range(60, 68))
    assert plain["run"].tolist() == list(range(24))
    with h5py.File(found.path) as file:
        assert list(file["status"].attrs["meanings"]) == ["ok"]
    assert decoded.about["plan"] == "random"
    assert decoded.about["complete"] == "true"


def test_the_judgement_travels_with_the_dataset(swept):
    folder, found, _ = swept
    told = json.loads(study_result(folder / "out").about["judged"])
    assert told == found.judged
    assert told["compared"] == 1
    assert 0 <= told["worst"] <= told["allowed"] == 0.005


def test_judging_more_or_fewer_computes_only_the_blocks_concerned(tmp_path):
    study, told = small(tmp_path), []
    run_study(study, tmp_path / "out", jobs=1, judge=1)
    found = run_study(study, tmp_path / "out", jobs=1, judge=2, resume=True, progress=told.append)
    assert told[0].kept == 128
    assert found.judged["compared"] == 2
    run_study(study, tmp_path / "whole", jobs=1, judge=2)
    assert_equal(tmp_path / "out", tmp_path / "whole")


def test_progress_is_told_from_the_start_to_the_end(swept):
    _, _, states = swept
    assert [state.done for state in states] == [0, 64, 128, 192]
    assert all(state.total == 192 for state in states)
    assert np.isnan(states[0].left)
    assert states[-1].left == 0
    assert states[-1].rate == pytest.approx(192 / states[-1].seconds)


def test_an_unfinished_sweep_gives_the_runs_that_are_there(tmp_path):
    pytest.importorskip("xarray")

    def stop(state):
        if state.done >= 128:
            raise KeyboardInterrupt

    study = small(tmp_path)
    with pytest.raises(KeyboardInterrupt):
        run_study(study, tmp_path / "out", jobs=1, judge=0, progress=stop)
    assert not (tmp_path / "out" / "results.h5").exists()
    with open_study(tmp_path / "out") as data:
        assert data.run.values.tolist() == list(range(16))
        assert data.attrs["complete"] == "false"
    run_study(study, tmp_path / "out", jobs=1, judge=0, resume=True)
    with open_study(tmp_path / "out") as data:
        assert data.sizes["run"] == 24
        assert data.attrs["complete"] == "true"
    assert not (tmp_path / "out" / "partial.h5").exists()


@pytest.mark.parametrize("what", ["nothing", "empty", "other"])
def test_where_there_is_no_sweep(tmp_path, what):
    folder = tmp_path / "out"
    if what != "nothing":
        folder.mkdir()
    if what == "other":
        (folder / "study.json").write_text('{"a": 1}', encoding="utf-8")
    with pytest.raises(FileProblem, match=r"no sweep is here|not the manifest"):
        study_result(folder)


# -- full disks ------------------------------------------------------------------------------------------
def full(*_: object, **__: object) -> None:
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_a_full_disk_while_blocks_are_written(tmp_path, monkeypatch):
    study, told = small(tmp_path), []
    real = np.savez

    def fills_up(file, **arrays):
        if len(told) > 1:
            file.write(b"half of it")
            full()
        real(file, **arrays)

    monkeypatch.setattr(sweep_store.np, "savez", fills_up)
    with pytest.raises(FileProblem, match=r"No space left.*what was finished is kept.*--resume"):
        run_study(study, tmp_path / "out", jobs=1, judge=0, progress=told.append)
    assert [path.name for path in (tmp_path / "out" / "blocks").iterdir()] == ["000000.npz"]
    monkeypatch.undo()
    run_study(study, tmp_path / "out", jobs=1, judge=0, resume=True)
    run_study(study, tmp_path / "whole", jobs=1, judge=0)
    assert_equal(tmp_path / "out", tmp_path / "whole")


@pytest.mark.parametrize("when", ["room", "pages", "figures"])
def test_a_full_disk_while_the_dataset_is_written(tmp_path, monkeypatch, when):
    study = small(tmp_path, 'plan = "random"\nruns = 2', head=ONE_NOTE)
    run_study(study, tmp_path / "out", jobs=1, judge=0)
    before = (tmp_path / "out" / "results.h5").read_bytes()
    real, calls = sparse_hdf5._put, []

    def fills_up(*arguments):
        calls.append(arguments)
        if when == "pages" or len(calls) > 3:
            full()
        real(*arguments)

    monkeypatch.setattr(sparse_hdf5, "_reserve" if when == "room" else "_put", full if when == "room" else fills_up)
    with pytest.raises(FileProblem, match=r"results\.h5: cannot be written \(No space left"):
        run_study(study, tmp_path / "out", jobs=1, judge=0, resume=True)
    assert (tmp_path / "out" / "results.h5").read_bytes() == before
    assert leftovers(tmp_path) == []


@pytest.mark.skipif(os.name != "posix", reason="limits of file sizes are a matter of Unix")
def test_a_limit_of_the_system_itself(tmp_path):
    import resource

    study = write_study(tmp_path)
    words = (study, "--out", tmp_path / "out", "--jobs", 1, "--judge", 0)
    limit = 28_000  # more than the manifest or a block, less than the dataset
    process = command(*words, preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit)))
    _, complaints = process.communicate(timeout=60)
    assert process.returncode == 1
    assert f"{tmp_path / 'out' / 'results.h5'}: cannot be written (File too large)" in complaints
    assert len(complaints.splitlines()) == 1
    assert leftovers(tmp_path) == []
    assert main(["sweep", *map(str, words), "--resume"]) == 0
    run_study(load_study(study), tmp_path / "whole", jobs=1, judge=0)
    assert_equal(tmp_path / "out", tmp_path / "whole")


def test_the_memory_that_a_dataset_takes_does_not_grow_with_its_runs():
    def layout(runs):
        image = sparse_hdf5.SparseImage()
        with h5py.File(image, "w") as file:
            made = sparse_hdf5.Layout(file)
            for k in range(20):
                made.column(f"q{k}", (runs, 56), "f8")
        return len(image.pages), image.size

    assert layout(10**7)[0] == layout(10**6)[0] < 50
    assert layout(10**7)[1] > 20 * 56 * 8 * 10**7


# -- refusals --------------------------------------------------------------------------------------------
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
        (("runs = 24", "runs = 24\nseed = 2"), ["seed = 2 was 1"]),
        (("runs = 24", "runs = 23"), ["it has 23 runs where the folder was begun with 24"]),
        (('"random"', '"sobol"'), ['plan = "sobol" was "random"']),
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


def test_a_changed_case_is_refused(swept, tmp_path):
    folder, _, _ = swept
    write_case(tmp_path, ('force = "3 N"', 'force = "3.1 N"'))
    with pytest.raises(Refused, match=r"the case short\.toml has changed"):
        run_study(small(tmp_path), folder / "out", jobs=1, resume=True)


def test_a_changed_program_is_refused_with_its_versions(swept, monkeypatch):
    folder, _, _ = swept
    monkeypatch.setattr("keyaction.sim.sweep_designs.source_key", lambda: "another")
    monkeypatch.setattr("keyaction.sim.manual.scipy.__version__", "99.0")
    with pytest.raises(Refused, match=r"the program has changed \(scipy 99\.0 was "):
        run_study(load_study(folder / "small.toml"), folder / "out", jobs=1, resume=True)


def test_blocks_of_another_study_are_not_taken(swept, tmp_path):
    folder, _, _ = swept
    study = small(tmp_path, 'plan = "random"\nruns = 24\nseed = 5')
    run_study(study, tmp_path / "whole", jobs=1, judge=0)

    def stop(_):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_study(study, tmp_path / "out", jobs=1, judge=0, progress=stop)
    for path in (folder / "out" / "blocks").iterdir():
        (tmp_path / "out" / "blocks" / path.name).write_bytes(path.read_bytes())
    run_study(study, tmp_path / "out", jobs=1, judge=0, resume=True)
    assert_equal(tmp_path / "out", tmp_path / "whole")


# -- the command -----------------------------------------------------------------------------------------
def test_a_dry_run_tells_and_writes_nothing(tmp_path, capsys):
    path = write_study(tmp_path)
    before = sorted(tmp_path.iterdir())
    assert main(["sweep", str(path), "--dry-run", "--jobs", "2", "--judge", "0"]) == 0
    told = capsys.readouterr().out
    assert "random plan of 2 inputs, 24 runs: 24 designs at 8 notes, 3 blocks" in told
    assert "with 2 processes" in told
    assert "nothing was written" in told
    assert main(["sweep", str(path), "--dry-run", "--jobs", "1", "--judge", "0", "--progress", "json"]) == 0
    plan = json.loads(capsys.readouterr().out)
    assert (plan["event"], plan["designs"], plan["notes"], plan["blocks"]) == ("plan", 24, 8, 3)
    assert sorted(tmp_path.iterdir()) == before


def test_a_dry_run_is_about_right(swept, tmp_path):
    study = small(tmp_path)
    found = forecast(study, jobs=1, judge=1)
    assert found.designs == 24
    took = run_study(study, tmp_path / "again", jobs=1, judge=1).seconds
    # The machine is shared with other tests; a forecast that is several times off would be no forecast.
    assert took / 8 < found.seconds < took * 8
    folder = swept[0] / "out"
    size = sum(path.stat().st_size for path in folder.rglob("*.npz")) + (folder / "results.h5").stat().st_size
    assert found.size < size < found.size + 60_000


def test_the_command_in_a_pipe_prints_its_summary_only(tmp_path):
    path = write_study(tmp_path, 'plan = "random"\nruns = 3', head=ONE_NOTE)
    status, output, complaints = finished(path, "--out", tmp_path / "out", "--jobs", 1, "--judge", 1)
    assert (status, complaints) == (0, "")
    assert "3 designs, note by note: 3 ok" in output
    assert "1 design judged by SciPy: largest difference 0" in output
    assert f"keyaction sweep show {tmp_path / 'out'}" in output


def test_json_lines(tmp_path, capsys):
    path = write_study(tmp_path, 'plan = "latin"\nruns = 40', TUBES, head=ONE_NOTE)
    words = ["sweep", str(path), "--out", str(tmp_path / "out"), "--jobs", "1", "--judge", "0", "--progress", "json"]
    assert main(words) == 0
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [line["event"] for line in lines] == ["start", "block", "done"]
    assert lines[0] | {"seconds": 0, "rate": 0} == {
        "event": "start",
        "done": 0,
        "total": 40,
        "kept": 0,
        "failed": 0,
        "seconds": 0,
        "rate": 0,
        "left": None,
    }
    assert lines[1]["done"] == 40
    assert lines[1]["failed"] == 2
    assert lines[2]["counts"] == {"ok": 38, "impossible": 2}
    assert Path(lines[2]["results"]).is_file()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "--out DIR is needed"),
        (["--out", "{}out", "--jobs", "-1"], "--jobs -1"),
        (["--out", "{}out", "--judge", "-1"], "--judge -1"),
        (["--out", "{}short.toml"], "is a file"),
        (["--out", "{}short.toml/deeper"], "is not a folder"),
    ],
)
def test_a_bad_command_line(tmp_path, capsys, words, told):
    path = write_study(tmp_path)
    before = sorted(tmp_path.iterdir())
    status = main(["sweep", str(path), *(word.format(f"{tmp_path}/") for word in words)])
    assert status == 2
    assert told in capsys.readouterr().err
    assert sorted(tmp_path.iterdir()) == before


def test_a_bad_study_ends_with_status_two_and_nothing_written(tmp_path, capsys):
    path = write_study(tmp_path, 'plan = "random"\nruns = 0', VARY.replace("spring.force", "spring.farce"))
    assert main(["sweep", str(path), "--out", str(tmp_path / "out")]) == 2
    told = capsys.readouterr().err
    assert "runs" in told
    assert "did you mean 'force'?" in told
    assert not (tmp_path / "out").exists()


def test_show_is_a_command_of_its_own(swept, capsys):
    folder, _, _ = swept
    assert main(["sweep", "show", str(folder / "out")]) == 0
    assert "pluck force" in capsys.readouterr().out
    assert main(["sweep", "show", str(folder / "nowhere")]) == 2


def test_all_quantities_by_default(tmp_path):
    study = small(tmp_path, 'plan = "random"\nruns = 2', head='notes = "C4"\n')
    run_study(study, tmp_path / "out", jobs=1, judge=0)
    data = study_result(tmp_path / "out")
    for name in available():
        assert np.all(np.isfinite(data[name])), name
    assert set(data["repetition_limit"].ravel()) != {""}
