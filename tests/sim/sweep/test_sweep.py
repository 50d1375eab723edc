"""A sweep made here: its designs against the same made by hand, and its dataset."""

from __future__ import annotations

import json
from shutil import copytree

import h5py
import numpy as np
import pytest
from small_study import ONE_NOTE, TUBES, VARY, assert_equal, small

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.cli import main
from keyaction.sim.files.hdf5 import load
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.lanes.evaluate import available, evaluate
from keyaction.sim.lanes.judge import Check
from keyaction.sim.sweep.blocks import Block, Task, compute, cut
from keyaction.sim.sweep.designs import AS_IN_CASE, make_design, recipe_of
from keyaction.sim.sweep.manifest import plan_of
from keyaction.sim.sweep.results import judged, judged_text
from keyaction.sim.sweep.sweep import load_study, open_study, run_study, study_result


# -- designs ---------------------------------------------------------------------------------------------
def test_designs_are_those_of_a_case_with_the_values_set_by_hand(swept):
    folder, _, _ = swept
    data = study_result(folder / "out")
    for row in (0, 17):
        wire, factor = (float(data[f"input_{name}"][row]) for name in ("pull-down.diameter", "spring"))
        settings = (("pull-down.diameter", f"{wire!r} m"), ("pallet-spring.force", f"{3 * factor!r} N"))
        case = read_case(folder / "short.toml", set_=settings)
        study = load_study(folder / "small.toml")
        design = make_design(recipe_of(study), plan_of(study).rows(row, row + 1)[0])
        for note, train in zip(study.notes, design.trains, strict=True):
            wanted = train_of(case, note).parameters
            assert {name: item.value for name, item in train.parameters.items()} == pytest.approx(
                {name: item.value for name, item in wanted.items()}, rel=1e-12
            )
        by_hand = evaluate([train_of(case, note) for note in study.notes], case.strokes, study.quantities, sample=0)
        for name in study.quantities:
            # The step of a block follows its stiffest design, so that a block of others agrees to the step's error.
            assert data[name][row] == pytest.approx(by_hand.quantities[name], rel=2e-3), name


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
    study = small(tmp_path, 'plan = "tolerances"\ndesigns = 12', "", head=ONE_NOTE)
    run_study(study, tmp_path / "out", jobs=1, judge=0)
    data = study_result(tmp_path / "out")
    stiffness = data["input_pallet-felt.stiffness"]
    assert len(set(stiffness)) == 12
    assert stiffness.min() > 0
    assert np.std(data["pluck_force"]) > 0
    assert np.std(data["effective_mass"]) > 0


# -- impossible designs ----------------------------------------------------------------------------------
def test_impossible_designs_are_counted_and_the_others_go_on(tmp_path):
    found = run_study(
        small(tmp_path, 'plan = "latin"\ndesigns = 40', TUBES, head=ONE_NOTE), tmp_path / "out", jobs=1, judge=1
    )
    assert found.counts == {"ok": 38, "impossible": 2}
    (reason, count), *_ = found.reasons
    assert count <= 2
    assert reason.startswith("impossible: pull-down, field wall = ")
    data = study_result(tmp_path / "out")
    wide = data["input_wall"] > 0.75e-3
    assert wide.sum() == 2
    assert np.array_equal(data["status"][:, 0] == "ok", ~wide)
    assert np.array_equal(np.isfinite(data["pluck_force"][:, 0]), ~wide)


def test_designs_that_cannot_be_played_are_values_too(tmp_path):
    vary = VARY + '[[vary]]\nname = "seat"\nfield = "pallet.seat.squeeze"\nvalues = ["0.3 mm", "0.0005 mm"]\n'
    vary += '[set]\npallet.seat.force = "500 N"\n'
    head = 'notes = "C4"\nquantities = ["opening_time", "peak_force"]\n'
    found = run_study(small(tmp_path, 'plan = "grid"', vary, head=head), tmp_path / "out", jobs=1, judge=0)
    assert found.counts == {"ok": 9, "failed": 9}
    data = study_result(tmp_path / "out")
    played = data["input_seat"] > 1e-4
    assert np.array_equal(data["status"][:, 0] == "ok", played)
    assert all(text.startswith("failed: ") for text in data["status"][~played, 0])
    assert np.all(np.isfinite(data["opening_time"][played]))


def test_a_design_that_breaks_the_engine_does_not_take_the_others_along(tmp_path, monkeypatch):
    import keyaction.sim.sweep.playing as playing

    real, study = playing.evaluate, small(tmp_path, 'plan = "random"\ndesigns = 5', head=ONE_NOTE)
    recipe, rows = recipe_of(study), plan_of(study).rows(0, 5)
    bad = make_design(recipe, rows[3]).trains[0].role("spring").figure("force")

    def breaks(trains, *arguments, **options):
        if any(train.role("spring").figure("force") == bad for train in trains):
            raise np.linalg.LinAlgError("no such vibration")
        return real(trains, *arguments, **options)

    monkeypatch.setattr(playing, "evaluate", breaks)
    found = compute(recipe, Task(Block(0, 0, 5, 0), rows)).status.texts()
    assert [status.partition(":")[0] for status in found] == ["ok", "ok", "ok", "failed", "ok"]
    assert found[3] == "failed: LinAlgError: no such vibration"


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
    assert dict(data.sizes) == {"design": 24, "note": 8}
    assert data.pluck_force.dims == ("design", "note")
    assert data.pluck_force.attrs["units"] == "N"
    assert data.pluck_force.attrs["long_name"] == "pluck force"
    assert "slow press" in data.pluck_force.attrs["definition"]
    assert data["input_pull-down.diameter"].attrs["units"] == "m"
    assert data["input_spring"].attrs["units"] == "1"
    assert data.attrs["study"] == (folder / "small.toml").read_text(encoding="utf-8")
    assert data.attrs["title"] == "Small"
    assert json.loads(data.attrs["counts"]) == {"ok": 192}
    assert not data.pluck_force.variable._in_memory
    assert float(data.pluck_force.sel(note="D4", design=3)) > 0
    frame = data.to_dataframe()
    assert len(frame) == 192
    assert (frame.status == "ok").all()
    assert frame.loc[(3, "D4"), "pluck_force"] == float(data.pluck_force.sel(note="D4", design=3))
    assert set(frame.columns) >= {"input_spring", "opening_time", "repetition_limit"}
    data.close()


def test_the_dataset_is_a_result_file_of_this_program(swept):
    folder, found, _ = swept
    assert found.path == folder / "out" / "results.h5"
    plain, decoded = load(found.path), study_result(folder / "out")
    assert plain.notes == ["C4", "C#4", "D4", "D#4", "E4", "F4", "F#4", "G4"]
    assert set(plain.variables) == set(decoded.variables)
    assert plain["semitone"].tolist() == list(range(60, 68))
    assert plain["design"].tolist() == list(range(24))
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
    assert told["where"] == "design 0 at C4"  # the first block's own first


def test_the_design_that_differs_most_is_named():
    checks = [
        Check(1, 0.3, "repetition_rate", 5, 1e-4),
        Check(2, 0.001, "bounce", 8, 1e-4),
        Check(0, 0.0, "none", -1, 0),
    ]
    told = judged(checks, notes=("C4", "F4"))
    assert (told["where"], told["beyond"]) == ("design 2 at F4", 1)
    assert judged_text(told).endswith("beyond 0.5% in 1 of them, most of all in design 2 at F4")
    assert judged([], notes=("C4",))["where"] == judged(checks)["where"] == ""


def test_judging_more_or_fewer_computes_only_the_blocks_concerned(tmp_path, swept):
    study, told = small(tmp_path), []
    copytree(swept[0] / "out", tmp_path / "out")  # as it is with one judged design
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


def test_an_unfinished_sweep_gives_the_designs_that_are_there(tmp_path):
    pytest.importorskip("xarray")

    def stop(state):
        if state.done >= 128:
            raise KeyboardInterrupt

    study = small(tmp_path)
    with pytest.raises(KeyboardInterrupt):
        run_study(study, tmp_path / "out", jobs=1, judge=0, progress=stop)
    assert not (tmp_path / "out" / "results.h5").exists()
    with open_study(tmp_path / "out") as data:
        assert data.design.values.tolist() == list(range(16))
        assert data.attrs["complete"] == "false"
    run_study(study, tmp_path / "out", jobs=1, judge=0, resume=True)
    with open_study(tmp_path / "out") as data:
        assert data.sizes["design"] == 24
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


def test_all_quantities_by_default(tmp_path):
    study = small(tmp_path, 'plan = "random"\ndesigns = 2', head='notes = "C4"\n')
    run_study(study, tmp_path / "out", jobs=1, judge=0)
    data = study_result(tmp_path / "out")
    for name in available():
        assert np.all(np.isfinite(data[name])), name
    assert set(data["repetition_limit"].ravel()) != {""}


def test_tolerances_over_neighbours_tell_of_their_steps(tmp_path, capsys):
    head = 'notes = "C4:E4"\nquantities = ["pluck_force", "effective_mass"]\n'
    run_study(small(tmp_path, 'plan = "tolerances"\ndesigns = 6', "", head=head), tmp_path / "out", jobs=1, judge=0)
    data = study_result(tmp_path / "out")
    assert all(len(set(column)) == 6 for column in data["pluck_force"].T)
    steps = np.diff(data["pluck_force"], axis=1) / ((data["pluck_force"][:, 1:] + data["pluck_force"][:, :-1]) / 2)
    felt = np.mean(np.abs(steps) > 0.07)
    assert np.std(steps) > 0.02  # what each note has of its own; a common factor would leave them as in the case
    assert main(["sweep", "show", str(tmp_path / "out")]) == 0
    assert f"neighbours: {felt:.0%} of all steps exceed 7%; of 4 steps" in " ".join(capsys.readouterr().out.split())
