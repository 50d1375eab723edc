"""Disks that fill up while a sweep is written: a clear message, nothing half-written, nothing lost."""

from __future__ import annotations

import errno
import os

import h5py
import pytest
from patience import HANG
from small_study import ONE_NOTE, assert_equal, command, kept_blocks, leftovers, small, write_study

from keyaction.sim.cli import main
from keyaction.sim.files import records, sparse_hdf5
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.sweep.sweep import load_study, run_study


def full(*_: object, **__: object) -> None:
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_a_full_disk_while_blocks_are_written(tmp_path, monkeypatch):
    study, told = small(tmp_path), []
    real = os.fsync

    def fills_up(handle):
        if len(told) > 1:
            full()
        real(handle)

    monkeypatch.setattr(records.os, "fsync", fills_up)
    with pytest.raises(FileProblem, match=r"No space left.*what was finished is kept.*--resume"):
        run_study(study, tmp_path / "out", jobs=1, judge=0, progress=told.append)
    assert kept_blocks(tmp_path / "out") == [0]
    monkeypatch.undo()
    run_study(study, tmp_path / "out", jobs=1, judge=0, resume=True)
    run_study(study, tmp_path / "whole", jobs=1, judge=0)
    assert_equal(tmp_path / "out", tmp_path / "whole")


@pytest.mark.parametrize("when", ["room", "pages", "figures"])
def test_a_full_disk_while_the_dataset_is_written(tmp_path, monkeypatch, when):
    study = small(tmp_path, 'plan = "random"\ndesigns = 2', head=ONE_NOTE)
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


@pytest.mark.long
@pytest.mark.skipif(os.name != "posix", reason="limits of file sizes are a matter of Unix")
def test_a_limit_of_the_system_itself(tmp_path):
    import resource

    study = write_study(tmp_path)
    words = (study, "--out", tmp_path / "out", "--jobs", 1, "--judge", 0)
    limit = 28_000  # more than the manifest or a block, less than the dataset
    process = command(*words, preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit)))
    _, complaints = process.communicate(timeout=HANG)
    assert process.returncode == 1
    assert f"{tmp_path / 'out' / 'results.h5'}: cannot be written (File too large)" in complaints
    assert len(complaints.splitlines()) == 1
    assert leftovers(tmp_path) == []
    assert main(["sweep", *map(str, words), "--resume"]) == 0
    run_study(load_study(study), tmp_path / "whole", jobs=1, judge=0)
    assert_equal(tmp_path / "out", tmp_path / "whole")


def test_the_memory_that_a_dataset_takes_does_not_grow_with_its_designs():
    def layout(designs):
        image = sparse_hdf5.SparseImage()
        with h5py.File(image, "w") as file:
            made = sparse_hdf5.Layout(file)
            for k in range(20):
                made.column(f"q{k}", (designs, 56), "f8")
        return len(image.pages), image.size

    assert layout(10**7)[0] == layout(10**6)[0] < 50
    assert layout(10**7)[1] > 20 * 56 * 8 * 10**7
