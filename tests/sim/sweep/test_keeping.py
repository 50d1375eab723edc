"""Blocks kept behind those that compute: nothing is told before it is on the disk, and nothing handed in is lost."""

from __future__ import annotations

from threading import Event

import pytest

from keyaction.sim.files.problem import FileProblem
from keyaction.sim.sweep.keeping import AHEAD, Keeper


class Folder:
    """Takes groups as slowly as the test wants; a group "full" finds no room."""

    def __init__(self):
        self.kept, self.room = [], Event()

    def add(self, results, key):
        assert self.room.wait(60)
        if results == ["full"]:
            raise FileProblem("no room")
        self.kept.append((results, key))


def test_each_is_waited_for_where_nothing_may_be_behind():
    folder = Folder()
    folder.room.set()
    with Keeper(folder, "k", behind=False) as keeper:
        for group in (["a"], ["b"]):
            assert list(keeper.add(group)) == [group]
            assert folder.kept[-1] == (group, "k")
        assert list(keeper.rest()) == []


def test_a_slow_disk_keeps_nobody_waiting_and_nothing_is_told_before_it_is_kept():
    folder, groups = Folder(), [[str(number)] for number in range(AHEAD)]
    with Keeper(folder, "k", behind=True) as keeper:
        for group in groups:
            assert list(keeper.add(group)) == [] == folder.kept
        folder.room.set()
        told = [*keeper.add(["last"]), *keeper.rest()]  # one more than may wait: so the first is waited for
    assert told == [*groups, ["last"]] == [group for group, _ in folder.kept]


def test_what_was_handed_in_is_kept_whatever_happens():
    folder = Folder()
    with pytest.raises(KeyboardInterrupt), Keeper(folder, "k", behind=True) as keeper:
        assert list(keeper.add(["a"])) == []
        folder.room.set()
        raise KeyboardInterrupt
    assert folder.kept == [(["a"], "k")]


@pytest.mark.parametrize("behind", [False, True])
def test_a_full_disk_is_told(behind):
    folder = Folder()
    folder.room.set()
    with Keeper(folder, "k", behind) as keeper, pytest.raises(FileProblem, match="no room"):
        for _ in (*keeper.add(["a"]), *keeper.add(["full"]), *keeper.rest()):
            pass
    assert folder.kept == [(["a"], "k")]
