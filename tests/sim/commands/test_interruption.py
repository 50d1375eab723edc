"""Broken off in the middle: by Ctrl-C, by the system, by force; and taken up again."""

import os
import signal
import time
from pathlib import Path

import numpy as np
import pytest
from command_line import ended, group, start
from patience import wait_for

from keyaction.sim.code.kernel import source_key
from keyaction.sim.files.hdf5 import load
from keyaction.sim.run import run as manual

pytestmark = pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="finds processes by /proc")


RUN = ("run", "short.toml", "--notes", "C4:D#4")
NOTES = range(60, 64)


def kept(folder):
    return sorted(int(path.stem) for path in (folder / "short.h5.part").glob("*.npz"))


def broken_off(folder, number, whole_group, when, only="60 61"):
    """Starts a run that is never over, sends a signal when `when` says so, and tells how it ended and what it left."""
    process = start(folder, *RUN, "--jobs", 2, only=only)
    try:
        assert wait_for(lambda: when(process) or process.poll() is not None)
        assert process.poll() is None, "the run was over before it could be broken off"
        (os.killpg if whole_group else os.kill)(process.pid, number)
        said = ended(process)
        assert wait_for(lambda: not group(process.pid)), "something is left running"
    finally:
        for left in group(process.pid):
            os.kill(left, signal.SIGKILL)
    return said


def some_kept(folder):
    return lambda _: len(kept(folder)) >= 1


def workers(count):
    return lambda process: len(group(process.pid)) > count


@pytest.fixture
def counted(monkeypatch):
    """The notes that are played in this process, by the program as it is on the disk now."""
    source_key.cache_clear()
    played = []
    real = manual.work

    def work(task):
        played.append(task.note)
        return real(task)

    monkeypatch.setattr(manual, "work", work)
    return played


@pytest.mark.one_in(2)
@pytest.mark.parametrize("whole_group", [False, True], ids=["the command", "the terminal's whole group"])
def test_ctrl_c_says_how_to_go_on_and_leaves_nothing_running(folder, whole_group):
    said = broken_off(folder, signal.SIGINT, whole_group, some_kept(folder))
    assert said.status == 130
    assert said.err == ("stopped; finished notes are kept in short.h5.part: the same command goes on from there\n")
    assert kept(folder)
    assert not (folder / "short.h5").exists()


def test_ctrl_c_while_the_workers_are_starting(folder):
    said = broken_off(folder, signal.SIGINT, True, lambda p: workers(2)(p) and not time.sleep(0.2), "")
    assert said.status == 130
    assert said.out == ""
    assert len(said.lines) == 1
    assert said.err == "stopped; no note was finished, nothing is kept: the same command begins again\n"
    assert not (folder / "short.h5.part").exists()


def test_killed_half_way_and_taken_up_again(folder, keyaction, counted):
    said = broken_off(folder, signal.SIGKILL, False, some_kept(folder))
    assert said.status == -signal.SIGKILL
    done = kept(folder)
    assert 0 < len(done) < len(NOTES)
    assert not (folder / "short.h5").exists()
    # The same command, which plays what is missing and nothing else.
    assert keyaction(*RUN, "--jobs", "1").status == 0
    assert sorted(counted) == sorted(set(NOTES) - set(done))
    assert sorted(path.name for path in folder.iterdir()) == ["chest.csv", "short.h5", "short.toml"]
    # And the same file as that of a run that nobody disturbed.
    assert keyaction(*RUN, "--jobs", "1", "--out", "undisturbed.h5").status == 0
    one, other = load(folder / "short.h5"), load(folder / "undisturbed.h5")
    assert set(one.variables) == set(other.variables)
    for name, variable in other.variables.items():
        data = one.variables[name].data
        assert data.dtype == variable.data.dtype, name
        assert np.array_equal(data, variable.data, equal_nan=data.dtype.kind == "f"), name


def test_ended_by_the_system_no_worker_is_left(folder):
    said = broken_off(folder, signal.SIGTERM, False, workers(3))
    assert said.status == -signal.SIGTERM
    assert not (folder / "short.h5").exists()


def test_a_command_that_only_shows_stops_too(keyaction, monkeypatch):
    def stopped(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("keyaction.sim.commands.check.standings", stopped)
    said = keyaction("check", "short.toml")
    assert (said.status, said.err) == (130, "stopped\n")
