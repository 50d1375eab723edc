"""A sweep on a device: the same files and figures, a folder of its own, and refusals before anything is written."""

import shutil
import sys

import numpy as np
import pytest
from small_study import small

from keyaction.sim.cli import main
from keyaction.sim.code.machines import OwnCompiler, own_compiler
from keyaction.sim.code.no_gpu import GpuFailed
from keyaction.sim.lanes import engines
from keyaction.sim.sweep import dask_cluster
from keyaction.sim.sweep.blocks import Cut
from keyaction.sim.sweep.sweep import Refused, _in_order, resume_command, run_study, study_result

compiler = pytest.mark.skipif(shutil.which("cc") is None, reason="this machine has no C compiler: no cc is found")
HEAD = 'notes = "C4"\nquantities = ["pluck_force", "opening_time"]\n'


def few(folder):
    """66 designs in two blocks."""
    return small(folder, 'plan = "random"\ndesigns = 66', head=HEAD)


@compiler
def test_figures_are_those_of_the_processor_and_folders_are_not_mixed(tmp_path):
    study = few(tmp_path)
    ours = run_study(study, tmp_path / "ours", jobs=1, judge=1)
    theirs = run_study(study, tmp_path / "theirs", jobs=1, judge=1, device="cc")
    assert ours.counts == theirs.counts and ours.judged["compared"] == theirs.judged["compared"] == 1
    first, second = (study_result(tmp_path / name) for name in ("ours", "theirs"))
    for name in ("pluck_force", "opening_time"):
        assert second[name] == pytest.approx(first[name], rel=1e-9)
    with pytest.raises(Refused, match="begun there with --device cc, and"):
        run_study(study, tmp_path / "theirs", jobs=1, judge=1, resume=True)
    with pytest.raises(Refused, match="begun there with --device cc --doubt decide, and"):
        run_study(study, tmp_path / "theirs", jobs=1, judge=1, resume=True, doubt="mark")
    with pytest.raises(ValueError, match="doubt = 'maybe': one of decide, mark"):
        run_study(study, tmp_path / "third", jobs=1, judge=1, doubt="maybe")
    with pytest.raises(ValueError, match="judge = -1"):
        run_study(study, tmp_path / "third", jobs=1, judge=-1)
    assert not (tmp_path / "third").exists()


@compiler
def test_a_whole_folder_goes_on_and_its_dataset_is_put_together_again(tmp_path):
    study = small(tmp_path, 'plan = "random"\ndesigns = 2', head=HEAD)
    first = run_study(study, tmp_path / "out", jobs=1, judge=0, device="cc", doubt="mark")
    kept = first.path.read_bytes()
    first.path.unlink()
    for _ in range(2):
        again = run_study(study, tmp_path / "out", jobs=1, judge=0, device="cc", doubt="mark", resume=True)
        assert again.counts == {"ok": 2} and len(again.path.read_bytes()) == len(kept)


def test_a_sweep_without_a_gpu_ends_in_one_line_and_writes_nothing(tmp_path, monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "cupy", None)
    monkeypatch.setattr(dask_cluster, "ANSWERS", 0.5)
    few(tmp_path)
    for more in ([], ["--dry-run"], ["--cluster", "tcp://127.0.0.1:1"]):
        given = ["sweep", str(tmp_path / "small.toml"), "--device", "gpu", "--out", str(tmp_path / "out"), *more]
        assert main(given) == 2
        told = capsys.readouterr().err
        assert ("it needs CuPy" in told) != ("no scheduler answers there" in told)  # the client needs no GPU
    assert not (tmp_path / "out").exists()


def test_a_device_takes_blocks_as_they_come_and_a_processor_those_that_scipy_judges_first():
    blocks, missing = Cut(64 * 9, 64, {0: 1, 4: 2, 8: 1}), np.ones(9, dtype=bool)
    missing[[1, 8]] = False
    assert [one.index for one in _in_order(blocks, missing, False)] == [0, 2, 3, 4, 5, 6, 7]
    assert [one.index for one in _in_order(blocks, missing, True)] == [4, 0, 2, 3, 5, 6, 7]


@compiler
def test_a_gpu_that_fails_amid_its_work_is_told_in_one_line_and_what_was_begun_goes_on(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(engines, "gpu", own_compiler)  # stands in for one
    few(tmp_path)
    given = ["sweep", str(tmp_path / "small.toml"), "--out", str(tmp_path / "out"), "--device", "gpu", "--jobs", "1"]
    with monkeypatch.context() as broken:
        broken.setattr(OwnCompiler, "call", fails)
        assert main([*given, "--progress", "none"]) == 1
    told = capsys.readouterr().err.split("\n", 1)
    assert told[0] == "the GPU failed amid its work (made up); what was finished is kept: --resume goes on"
    assert main([*given, "--progress", "none", "--resume"]) == 0


def fails(*_, **__):
    raise GpuFailed("the GPU failed amid its work (made up)")


def test_what_goes_on_names_the_device(tmp_path):
    study = few(tmp_path)
    assert "--device gpu --resume" in resume_command(study, tmp_path / "out", device="gpu")
    assert "--device" not in resume_command(study, tmp_path / "out")
