"""A Dask cluster whose workers compute on devices of their own: the same bits, several blocks a task, and refusals."""

from __future__ import annotations

import shutil

import pytest
from dask_processes import scheduling, start_worker
from patience import HANG
from small_study import assert_equal, kept_blocks, small

from keyaction.sim.sweep import dask_cluster
from keyaction.sim.sweep.dask_worker import NoDevice
from keyaction.sim.sweep.sweep import Refused, run_study

distributed = pytest.importorskip("distributed")
pytestmark = pytest.mark.skipif(shutil.which("cc") is None, reason="this machine has no C compiler: no cc is found")

HEAD = 'notes = "C4"\nquantities = ["pluck_force", "opening_time"]\n'
LACKING = r"the worker tcp://\S+ cannot compute on --device cc \(no C compiler"


@pytest.fixture(scope="module")
def cluster():
    """Address of a scheduler with a worker of two threads, which share its device."""
    with scheduling() as address:
        worker = start_worker(address, threads=2)
        try:
            wait_for_workers(address, 1)
            yield address
        finally:
            worker.kill()
            worker.wait()


def wait_for_workers(address, count):
    with distributed.Client(address, timeout=HANG, set_as_default=False) as client:
        client.wait_for_workers(count, timeout=HANG)


def test_begun_on_the_cluster_and_gone_on_with_here_the_same_bits(cluster, tmp_path):
    study, told = small(tmp_path, 'plan = "random"\ndesigns = 194', head=HEAD), []

    def stop(state):
        told.append(state.done)
        if state.done:
            raise KeyboardInterrupt

    how = {"judge": 1, "device": "cc"}
    with pytest.raises(KeyboardInterrupt):
        run_study(study, tmp_path / "out", cluster=cluster, progress=stop, **how)
    kept = kept_blocks(tmp_path / "out")
    assert len(kept) == 2 and told == [0, kept_designs(kept)]  # two blocks a task: half of all for each thread
    run_study(study, tmp_path / "here", jobs=1, **how)
    run_study(study, tmp_path / "out", jobs=1, resume=True, **how)
    assert_equal(tmp_path / "out", tmp_path / "here")
    run_study(study, tmp_path / "there", cluster=cluster, **how)
    assert_equal(tmp_path / "there", tmp_path / "here")


def kept_designs(blocks):
    return sum(2 if index == 3 else 64 for index in blocks)


def test_a_worker_without_the_device_stops_the_sweep_and_is_refused(cluster, tmp_path, monkeypatch):
    monkeypatch.setattr(dask_cluster, "MOST", 1)
    study = small(tmp_path, 'plan = "random"\ndesigns = 768', head='notes = "C4"\nquantities = ["pluck_force"]\n')
    joined = []

    def join(state):
        if state.done and not joined:
            joined.append(start_worker(cluster, PATH=str(tmp_path)))  # finds no compiler
            wait_for_workers(cluster, 2)

    how = {"cluster": cluster, "judge": 0, "device": "cc"}
    try:
        with pytest.raises(NoDevice, match=LACKING) as why:
            run_study(study, tmp_path / "out", progress=join, **how)
        assert "what was finished is kept" in str(why.value) and "\n" not in str(why.value)
        kept = kept_blocks(tmp_path / "out")
        assert 1 <= len(kept) < 12
        with pytest.raises(Refused, match=LACKING):
            run_study(study, tmp_path / "other", **how)
        assert not (tmp_path / "other").exists()
    finally:
        for one in joined:
            one.kill()
            one.wait()
    told = []
    run_study(study, tmp_path / "out", jobs=1, judge=0, device="cc", resume=True, progress=told.append)
    assert told[0].kept == 64 * len(kept) and told[-1].done == 768
