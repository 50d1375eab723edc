"""A process for each device: groups are shared out, and one that dies takes no other group with it."""

import os
import shutil
from multiprocessing import active_children

import deadly
import pytest
from many_blocks import apart, tasks_of, varied
from small_study import small

from keyaction.sim.code.machines import see_only
from keyaction.sim.code.no_gpu import NoGpu
from keyaction.sim.sweep import devices
from keyaction.sim.sweep.at_once import compute_at_once
from keyaction.sim.sweep.designs import recipe_of
from keyaction.sim.sweep.devices import MOST, ROUNDS, NoPlayers, _Players, group_size, on_devices
from keyaction.sim.sweep.pool import DIED, PLAYERS, grouped


@pytest.fixture
def played(tmp_path, monkeypatch):
    """Plays six groups of two blocks by two processes that compute nothing; tells the words of every block."""

    def play(victim, jobs=2, player=deadly.dying_player):
        monkeypatch.setenv(deadly.VICTIM, str(victim))
        monkeypatch.setattr(devices, "_play", player)
        recipe = recipe_of(small(tmp_path, 'plan = "random"\ndesigns = 8'))
        groups = grouped(tasks_of(recipe, [1] * 11), 2)
        found = [one for group in _Players(recipe, groups, 2, jobs).results() for one in group]
        assert active_children() == []
        return {one.block.index: one.status.texts()[0].removeprefix("lost: ") for one in found}, len(found)

    return play


def test_every_group_is_played_once_by_one_of_the_processes(played):
    told, count = played(-1)
    assert count == 11 and sorted(told) == list(range(11)) and set(told.values()) == {"played"}


@pytest.mark.parametrize("victim", [0, 5, 10])
def test_a_process_that_dies_twice_at_a_group_loses_this_alone(played, victim):
    """What it had taken ahead is played by another, and the group that kills is tried alone."""
    told, count = played(victim)
    lost = {victim, victim ^ 1} & set(range(11))
    assert count == 11 and {k for k, text in told.items() if text == DIED} == lost
    assert {text for k, text in told.items() if k not in lost} == {"played"}


def test_a_gpu_that_fails_twice_at_a_group_loses_this_alone_and_says_why(played):
    told, count = played(5, player=deadly.failing_player)
    why = "the GPU failed amid its work (made up); --resume tries again"
    assert count == 11 and {k for k, text in told.items() if text == why} == {4, 5}
    assert {text for k, text in told.items() if k not in (4, 5)} == {"played"}


def test_processes_that_do_nothing_but_die_are_told(tmp_path, monkeypatch):
    monkeypatch.setattr(devices, "_play", deadly.dies)
    recipe = recipe_of(small(tmp_path, 'plan = "random"\ndesigns = 8'))
    with pytest.raises(NoPlayers, match="die at once"):
        list(_Players(recipe, grouped(tasks_of(recipe, [1] * 4), 2), 2, 1).results())
    assert active_children() == []


def test_what_a_process_cannot_do_ends_all(tmp_path, monkeypatch):
    monkeypatch.setenv("PATH", "")
    recipe = varied(tmp_path, "C4", device="cc")
    with pytest.raises(NoGpu, match="no cc"):
        list(_Players(recipe, grouped(tasks_of(recipe, [1, 1]), 1), 2, 1).results())
    assert active_children() == []


@pytest.mark.skipif(shutil.which("cc") is None, reason="this machine has no C compiler: no cc is found")
def test_two_processes_find_what_one_finds(tmp_path):
    recipe = varied(tmp_path, "C4", device="cc", quantities=("pluck_force",))
    tasks = tasks_of(recipe, [2, 3, 1, 2], judged=1)
    found = [one for group in _Players(recipe, grouped(tasks, 2), 2, 1).results() for one in group]
    assert apart(compute_at_once(recipe, tasks), sorted(found, key=lambda one: one.block.index)) < 1e-12
    one = [one for group in on_devices(recipe, tasks, len(tasks), 1) for one in group]
    assert apart(one, sorted(found, key=lambda one: one.block.index)) < 1e-12


def test_nothing_to_play_is_no_group(tmp_path):
    assert list(on_devices(varied(tmp_path, "C4", device="cc"), [], 0, 1)) == []


def test_groups_are_large_where_there_is_much_and_leave_something_for_all():
    assert group_size(10, 1) > 10 and group_size(10**6, 4) == MOST
    assert group_size(24_000, 2) * 2 * PLAYERS * ROUNDS == 24_000


def test_a_process_sees_one_of_the_gpus_that_its_parent_sees(monkeypatch):
    monkeypatch.delenv("CUDA_VISIBLE_DEVICES", raising=False)
    see_only(3)
    assert os.environ["CUDA_VISIBLE_DEVICES"] == "3"
    monkeypatch.setenv("CUDA_VISIBLE_DEVICES", "2,5")
    see_only(1)
    assert os.environ["CUDA_VISIBLE_DEVICES"] == "5"
