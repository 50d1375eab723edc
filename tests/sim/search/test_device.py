"""Searches of a study file, and on a device: the same offers, a folder of its own, refusals before the beginning."""

import shutil
import sys

import numpy as np
import pytest
from short_case import QUICK, write_case

from keyaction.cases.text.defects import CaseProblem
from keyaction.sim.cli import main
from keyaction.sim.code.machines import OwnCompiler, own_compiler
from keyaction.sim.code.no_gpu import GpuFailed
from keyaction.sim.files.begun import Refused
from keyaction.sim.files.hdf5 import load
from keyaction.sim.lanes import engines
from keyaction.sim.search.search import run_search

TEXT = """
format = 1
[study]
case = "short.toml"
notes = "C4"
[search]
aims = ["pluck_force", "release_delay"]
limits = ["none"]
[[vary]]
field = "pallet-spring.force"
scale = [0.9, 1.1]
levels = 3
"""


@pytest.fixture
def study(tmp_path):
    write_case(tmp_path, more=QUICK)
    path = tmp_path / "lighter.toml"
    path.write_text(TEXT, encoding="utf-8")
    return path


@pytest.mark.skipif(shutil.which("cc") is None, reason="this machine has no C compiler: no cc is found")
def test_a_device_finds_the_same_and_its_folder_is_its_own(study, tmp_path, monkeypatch):
    called, real = [], OwnCompiler.call
    monkeypatch.setattr(
        OwnCompiler, "call", lambda self, *own, **more: called.append(own[1]) or real(self, *own, **more)
    )
    ours = run_search(study, jobs=1, most=2)
    assert not called
    theirs = run_search(study, tmp_path / "out", jobs=1, most=2, device="cc")
    assert len(ours.offers.kept) == 2
    kept = load(theirs.path)
    for name, one in ours.result.variables.items():
        if name.startswith("confirmed_"):  # by SciPy, of the same case
            assert np.array_equal(kept[name], one.data), name
        elif one.data.dtype.kind == "f":
            assert kept[name] == pytest.approx(one.data, rel=1e-9), name
        else:
            assert np.array_equal(kept[name], one.data), name
    assert called
    with pytest.raises(Refused, match="--device cpu was cc"):
        run_search(study, tmp_path / "out", jobs=1, resume=True)
    again = run_search(study, tmp_path / "out", jobs=1, most=2, device="cc", resume=True)
    assert np.array_equal(again.result["release_delay"], kept["release_delay"])


def test_without_a_gpu_one_line_says_so_and_nothing_is_written(study, tmp_path, monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "cupy", None)
    for more in ([], ["--out", str(tmp_path / "out")]):
        assert main(["search", str(study), "--device", "gpu", *more]) == 2
        told = capsys.readouterr()
        assert "the GPU cannot be used: it needs CuPy" in told.err and len(told.err.splitlines()) == 1
        assert told.out == ""
    assert not (tmp_path / "out").exists()


@pytest.mark.skipif(shutil.which("cc") is None, reason="this machine has no C compiler: no cc is found")
def test_a_gpu_that_fails_amid_its_work_is_told_in_one_line(study, tmp_path, monkeypatch, capsys):
    def fails(*_, **__):
        raise GpuFailed("the GPU failed amid its work (made up)")

    monkeypatch.setattr(engines, "gpu", own_compiler)  # stands in for one
    monkeypatch.setattr(OwnCompiler, "call", fails)
    given = ["search", str(study), "--device", "gpu", "--jobs", "1", "--progress", "none"]
    for more, kept in ([], ""), (["--out", str(tmp_path / "out")], "; what was finished is kept. Go on with the same"):
        assert main([*given, *more]) == 1
        told = capsys.readouterr().err
        assert f"the GPU failed amid its work (made up){kept}" in told and len(told.splitlines()) == 1


def test_a_case_alone_does_not_say_what_may_vary(study):
    with pytest.raises(CaseProblem, match=r"no study: its \[study\] table names the case"):
        run_search(study.with_name("short.toml"))
