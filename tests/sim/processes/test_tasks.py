"""Tasks in processes: results as they come, nothing lost with a process that dies."""

import itertools
import pickle
import subprocess
import sys
from concurrent.futures import Future
from multiprocessing import active_children

import pytest
from deadly import half_said, halved

from keyaction.sim.processes import tasks
from keyaction.sim.processes.tasks import AHEAD, NoProcesses, NotCarried, in_processes


def given_up(number):
    return -number


@pytest.mark.parametrize("jobs", [0, 1])
def test_with_one_process_the_work_is_done_here_and_in_order(jobs):
    assert list(in_processes(halved, [6, 2, 4], jobs, given_up)) == [3, 1, 2]
    assert active_children() == []


def test_every_task_gives_one_result():
    assert sorted(in_processes(halved, range(0, 40, 2), 2, given_up)) == list(range(20))
    assert list(in_processes(halved, [], 2, given_up)) == []


def test_a_task_that_kills_its_process_is_given_up_and_all_others_are_done():
    tasks = [0, 2, 3, 4, 6, 8, 9, 10, 12]
    assert sorted(in_processes(halved, tasks, 2, given_up)) == [-9, -3, 0, 1, 2, 3, 4, 5, 6]


def test_a_task_that_kills_its_process_amid_a_message_is_given_up_and_all_others_are_done():
    """The pool itself waits for the rest of the message for ever: its own end of the pipe stays open."""
    assert sorted(in_processes(half_said, [0, 2, 3, 4, 6, 8], 2, given_up)) == [-3, 0, 1, 2, 3, 4]
    assert active_children() == []


def test_processes_that_do_nothing_but_die():
    with pytest.raises(NoProcesses, match="they die at once"):
        list(in_processes(halved, [1, 3], 2, given_up))


def test_tasks_are_taken_as_they_are_needed():
    taken = []
    endless = (taken.append(k) or 2 * k for k in itertools.count())
    results = in_processes(halved, endless, 2, given_up)
    next(results)
    assert len(taken) <= 2 * AHEAD
    results.close()
    assert active_children() == []


def test_an_error_of_the_work_ends_it_and_its_processes():
    with pytest.raises(ValueError, match="-2 is negative"):
        list(in_processes(halved, [2, 4, -2, 6], 2, given_up))
    assert active_children() == []


class Forgetful:
    """A pool that broke while tasks were handed in: it never tells of the last of them."""

    _broken, _processes = "a process died", None

    def submit(self, work, packed):
        handed = Future()
        if pickle.loads(packed)[1] < 4:
            handed.set_result(work(packed))
        return handed

    def shutdown(self, **_):
        pass


def test_a_task_that_a_broken_pool_forgets_is_tried_again(monkeypatch):
    pools = [Forgetful()]
    proper = tasks.new_pool
    monkeypatch.setattr(tasks, "new_pool", lambda jobs: pools.pop() if pools else proper(jobs))
    monkeypatch.setattr(tasks, "LOOK", 0.01)
    assert sorted(in_processes(halved, [2, 4], 2, given_up)) == [1, 2]


def test_results_that_are_there_do_not_wait_for_the_next_task(monkeypatch):
    monkeypatch.setattr(tasks, "new_pool", lambda _: Forgetful())
    taken = []
    results = in_processes(halved, (taken.append(k) or k for k in (0, 2, 2)), 2, given_up)
    assert (next(results), taken) == (0, [0])
    assert (list(results), taken) == ([1, 1], [0, 2, 2])


SCRIPT = """
import keyaction as ka
from keyaction.models.parts import PARTS
from keyaction.models.parts.levers import Square

if __name__ == "__main__":
    class OwnSquare(Square):
        pass

    case = ka.read_case("demo-wood", parts={**PARTS, "square": OwnSquare})
    ka.run(case, "C4:D4", jobs=2)
"""


@pytest.mark.long
def test_a_class_that_workers_cannot_import_is_named(tmp_path):
    # It was told as "they die at once (out of memory ...)".
    (tmp_path / "script.py").write_text(SCRIPT, encoding="utf-8")
    done = subprocess.run([sys.executable, "script.py"], cwd=tmp_path, capture_output=True, text=True, check=False)
    last = done.stderr.strip().splitlines()[-1]
    assert "OwnSquare" in last and "jobs = 1" in last and "out of memory" not in last


def test_a_class_inside_a_function_is_named_too():
    def work(number):
        return number

    with pytest.raises(NotCarried, match=r"work.*jobs = 1"):
        list(in_processes(work, [1, 2], 2, given_up))
    assert active_children() == []
