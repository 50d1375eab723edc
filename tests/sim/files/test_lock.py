"""One writer at a time, whoever it is and however it ends."""

import signal
import subprocess
import sys

import pytest

from keyaction.sim.files.lock import lock

pytest.importorskip("fcntl")

HOLDS = """
import sys, time
from pathlib import Path
from keyaction.sim.files.lock import lock
held = lock(Path(sys.argv[1]), RuntimeError("busy"))
print("held", flush=True)
time.sleep(60)
"""


class Taken(RuntimeError):
    pass


def test_a_second_holder_is_refused_until_the_first_lets_go(tmp_path):
    held = lock(tmp_path / "lock", Taken("somebody writes"))
    with pytest.raises(Taken, match="somebody writes"):
        lock(tmp_path / "lock", Taken("somebody writes"))
    held.close()
    lock(tmp_path / "lock", Taken("nobody")).close()


def test_a_process_that_is_killed_lets_go(tmp_path):
    process = subprocess.Popen([sys.executable, "-c", HOLDS, tmp_path / "lock"], stdout=subprocess.PIPE, text=True)
    try:
        assert process.stdout.readline() == "held\n"
        with pytest.raises(Taken):
            lock(tmp_path / "lock", Taken())
    finally:
        process.send_signal(signal.SIGKILL)
        process.communicate()
    lock(tmp_path / "lock", Taken()).close()


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(FileNotFoundError):
        lock(tmp_path / "nowhere" / "lock", Taken())
