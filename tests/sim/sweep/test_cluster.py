"""The same sweep on a Dask scheduler with workers of their own, on loopback; one of them is killed."""

from __future__ import annotations

import json
import signal
import sys

import pytest
from dask_processes import HELD_FROM, free_port, scheduling, start_scheduler, start_worker
from patience import HANG
from small_study import alive, assert_equal, command, kept_blocks, small, wait_for_blocks, write_study

from keyaction.sim.cli import main
from keyaction.sim.sweep import dask_cluster as sweep_dask
from keyaction.sim.sweep.sweep import Refused, load_study, run_study

distributed = pytest.importorskip("distributed")

LONG = 'plan = "random"\ndesigns = 80'
"""Ten blocks of 64 designs."""


@pytest.fixture(scope="module")
def scheduler():
    """Address of a scheduler without workers."""
    with scheduling() as address:
        yield address


@pytest.fixture
def workers(scheduler):
    """Two workers, each a process with one thread."""
    made = [start_worker(scheduler) for _ in range(2)]
    try:
        with distributed.Client(scheduler, timeout=HANG, set_as_default=False) as client:
            client.wait_for_workers(2, timeout=HANG)
        yield made
    finally:
        for process in made:
            process.kill()
            process.wait()


def half_a_second(client, count, timeout, real=distributed.Client.wait_for_workers):
    """In vain: nobody starts a worker. The time for the scheduler's answer stays as it is."""
    assert timeout == sweep_dask.ANSWERS
    real(client, count, timeout=0.5)


def test_a_scheduler_without_workers_is_refused(scheduler, tmp_path, monkeypatch):
    with distributed.Client(scheduler, timeout=HANG, set_as_default=False):
        monkeypatch.setattr(distributed.Client, "wait_for_workers", half_a_second)
        with pytest.raises(Refused, match=r"has no workers; start one with: dask worker tcp://"):
            run_study(small(tmp_path), tmp_path / "out", cluster=scheduler)
    assert not (tmp_path / "out").exists()


def test_a_killed_worker_costs_nothing_but_time(scheduler, workers, tmp_path):
    study = write_study(tmp_path, LONG)
    words = (study, "--cluster", scheduler, "--judge", 1, "--progress", "json", "--out", tmp_path / "out")
    process = command(*words)
    wait_for_blocks(process, 3)
    workers[0].send_signal(signal.SIGKILL)
    output, complaints = process.communicate(timeout=HANG)
    assert (process.returncode, complaints) == (0, "")
    done = json.loads(output.splitlines()[-1])
    assert done["counts"] == {"ok": 640}
    assert not alive(workers[0].pid)
    assert alive(workers[1].pid)
    run_study(load_study(study), tmp_path / "here", jobs=1, judge=1)
    assert_equal(tmp_path / "out", tmp_path / "here")


@pytest.mark.long
@pytest.mark.usefixtures("workers")
def test_begun_here_and_gone_on_with_there(scheduler, tmp_path, capsys):
    study = write_study(tmp_path, LONG)

    def stop(state):
        if state.done >= 256:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_study(load_study(study), tmp_path / "out", jobs=1, judge=0, progress=stop)
    words = (study, "--cluster", scheduler, "--judge", 0, "--progress", "json", "--resume", "--out", tmp_path / "out")
    process = command(*words, blocks=HELD_FROM)
    wait_for_blocks(process, 3)
    process.send_signal(signal.SIGINT)
    _, complaints = process.communicate(timeout=HANG)
    assert process.returncode == 130
    assert f"--cluster {scheduler} --resume" in complaints
    assert main(["sweep", str(study), "--jobs", "1", "--judge", "0", "--resume", "--out", str(tmp_path / "out")]) == 0
    assert "640 designs, note by note: 640 ok" in capsys.readouterr().out
    run_study(load_study(study), tmp_path / "here", jobs=1, judge=0)
    assert_equal(tmp_path / "out", tmp_path / "here")


@pytest.mark.usefixtures("workers")
def test_workers_of_another_program_are_refused(scheduler, tmp_path, monkeypatch):
    monkeypatch.setattr("keyaction.sim.sweep.blocks.source_key", lambda: "another")  # here, not in the workers
    with pytest.raises(Refused, match="has another version of the program"):
        run_study(small(tmp_path), tmp_path / "out", cluster=scheduler)
    assert not (tmp_path / "out").exists()


def test_a_scheduler_that_dies_ends_the_sweep_with_what_was_finished(tmp_path):
    address = f"tcp://127.0.0.1:{free_port()}"
    made = [start_scheduler(address)]
    made.append(start_worker(address))
    try:
        study = write_study(tmp_path, LONG)
        words = (study, "--cluster", address, "--judge", 0, "--progress", "json", "--out", tmp_path / "out")
        process = command(*words, blocks=HELD_FROM)
        wait_for_blocks(process, 2)
        made[0].kill()
        _, complaints = process.communicate(timeout=HANG)
        assert process.returncode == 1
        assert complaints.startswith("the scheduler is gone")
        assert complaints.endswith("what was finished is kept: go on with --resume\n")
        assert len(complaints.splitlines()) == 1
        assert len(kept_blocks(tmp_path / "out")) >= 2
    finally:
        for one in made:
            one.kill()
            one.wait()


@pytest.mark.one_in(3)
@pytest.mark.parametrize("address", ["tcp://127.0.0.1:{}", "127.0.0.1:{}", "nowhere://x", "", "tcp://no such host:1"])
def test_a_cluster_that_is_not_there(tmp_path, capsys, monkeypatch, address):
    monkeypatch.setattr(sweep_dask, "ANSWERS", 1.0)
    path = write_study(tmp_path)
    address = address.format(free_port())
    assert main(["sweep", str(path), "--out", str(tmp_path / "out"), "--cluster", address]) == 2
    told = capsys.readouterr().err
    assert f"--cluster {address}: no scheduler answers there" in told
    assert len(told.splitlines()) == 1
    assert not (tmp_path / "out").exists()


def test_without_dask_the_extra_is_named(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(Refused, match=r"pip install \"keyaction\[cluster\]\""):
        run_study(small(tmp_path), tmp_path / "out", cluster="tcp://127.0.0.1:1")
    assert not (tmp_path / "out").exists()
