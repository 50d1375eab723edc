"""A process for each GPU of this machine: one interpreter feeds one of them, not several."""

from __future__ import annotations

import traceback
from collections import deque
from collections.abc import Generator, Iterable, Iterator, Sequence
from multiprocessing import get_context
from multiprocessing.connection import Connection, wait

from keyaction.sim.code.machines import see_only
from keyaction.sim.code.no_gpu import GpuFailed
from keyaction.sim.lanes.engines import machine_of
from keyaction.sim.processes.pool import no_interrupt, quiet_worker
from keyaction.sim.processes.tasks import NoProcesses
from keyaction.sim.sweep.blocks import BlockResult, Task, lost_block, packed, unpacked
from keyaction.sim.sweep.designs import Recipe
from keyaction.sim.sweep.pool import DIED, PLAYERS, grouped, on_a_device

FEWEST, MOST = 1024, 4096
"""Blocks that are played together, where there are as many: the more, the less a GPU waits for the few in doubt; the
fewer, the less is lost with a sweep that is killed."""
TRIES = 2
"""How often a group is played, where the process dies that plays it."""
ROUNDS = 2
"""Groups for each player, at least: while the last ones are played others have nothing to do."""

Group = Sequence[Task]


class NoPlayers(NoProcesses):
    """Processes of GPUs that died before they had done anything."""

    def __init__(self, why: str) -> None:
        why = why or 'out of memory, or a script whose calls are not under if __name__ == "__main__":'
        told = f"the processes that feed the GPUs die at once ({why}); what was finished is kept: --resume goes on"
        RuntimeError.__init__(self, told)


def on_devices(recipe: Recipe, tasks: Iterable[Task], blocks: int, jobs: int) -> Iterator[list[BlockResult]]:
    """Blocks as they come, played on all devices of this machine, each fed by a process of its own.

    Parameters
    ----------
    recipe : Recipe
    tasks : iterable of Task
        Taken as they are needed.
    blocks : int
        How many tasks there are.
    jobs : int
        Processes that let SciPy answer.

    Raises
    ------
    keyaction.sim.code.no_gpu.NoGpu
        When the device cannot be used.
    keyaction.sim.processes.tasks.NoProcesses
        If not one process computed anything.
    """
    devices = max(1, min(machine_of(recipe.device).devices, blocks // FEWEST))
    groups = grouped(tasks, group_size(blocks, devices))
    if devices > 1:
        return _Players(recipe, groups, devices, max(jobs // devices, 1)).results()
    return on_a_device(recipe, groups, jobs)


def group_size(blocks: int, devices: int) -> int:
    """How many of so many blocks are played together."""
    return max(FEWEST, min(-(-blocks // (devices * PLAYERS * ROUNDS)), MOST))


class _Player:
    """A process that plays groups on one device, and what it has in hand, by the first block."""

    def __init__(self, recipe: bytes, device: int, jobs: int) -> None:
        self.device, self.hand = device, dict[int, tuple[Group, int]]()
        self.alone = self.told_end = False
        self.here, there = get_context("spawn").Pipe()
        self.process = get_context("spawn").Process(target=_play, args=(there, recipe, device, jobs))
        with no_interrupt():
            self.process.start()
        there.close()

    def end(self) -> None:
        """Stop it, whatever it does."""
        self.here.close()
        self.process.terminate()
        self.process.join()


class _Players:
    """Hands groups to players who ask for them; what one had in hand who died is played once more, each group alone."""

    def __init__(self, recipe: Recipe, groups: Iterator[list[Task]], devices: int, jobs: int) -> None:
        self._recipe, self._packed, self._jobs, self._devices = recipe, packed(recipe), jobs, devices
        self._groups, self._again, self._over = groups, deque[tuple[Group, int]](), False
        self._players, self._deaths, self._why = dict[Connection, _Player](), 0, ""

    def results(self) -> Generator[list[BlockResult]]:
        """Results of groups as they come."""
        try:
            for device in range(self._devices):
                self._start(device)
            while self._players:
                for connection in wait(list(self._players)):
                    yield from self._heard(self._players[connection])  # type: ignore[index]  # no sockets are among them
        finally:
            for player in self._players.values():
                player.end()

    def _start(self, device: int) -> None:
        player = _Player(self._packed, device, self._jobs)
        self._players[player.here] = player

    def _heard(self, player: _Player) -> Iterator[list[BlockResult]]:
        """What comes of a player's word: it wants a group, has played one, cannot go on, or is gone."""
        try:
            said = player.here.recv()
            if said is None:
                player.here.send(self._next(player))
        except (EOFError, OSError):
            yield from self._gone(player)
            return
        if isinstance(said, GpuFailed):
            self._why = str(said)
            yield from self._gone(player)
            return
        if isinstance(said, Exception):
            raise said
        if said is not None:
            self._deaths = 0
            del player.hand[said[0].block.index]
            yield said

    def _next(self, player: _Player) -> Group:
        """The next group for a player, none when it is to end."""
        group: Group = ()
        tries = 0
        if self._again and not player.hand and not player.alone:
            group, tries = self._again.popleft()
            player.alone = True
        elif not player.alone:
            group = next(self._groups, ())
            self._over = not group
        if group:
            player.hand[group[0].block.index] = group, tries + 1
        player.told_end = not group
        return group

    def _gone(self, player: _Player) -> Iterator[list[BlockResult]]:
        """Take back what a player had in hand; another one takes its place while there is something to play."""
        del self._players[player.here]
        player.end()
        if player.hand or not player.told_end:
            self._deaths += 1
            if self._deaths > TRIES * self._devices:
                raise NoPlayers(self._why)
        for group, tries in player.hand.values():
            if tries < TRIES:
                self._again.append((group, tries))
            else:
                why = f"{self._why}; --resume tries again" if self._why else DIED
                yield [lost_block(self._recipe, task, why) for task in group]
        if self._again or not self._over:
            self._start(player.device)


def _play(there: Connection, recipe: bytes, device: int, jobs: int) -> None:
    """What a player does: asks for groups, and sends what comes of them."""
    quiet_worker()
    see_only(device)
    try:
        for found in on_a_device(unpacked(recipe), _handed(there), jobs):
            there.send(found)
    except Exception as problem:
        problem.add_note("".join(traceback.format_exception(problem)))  # it is sent without
        there.send(problem)


def _handed(there: Connection) -> Iterator[Group]:
    """Groups, asked for one by one."""
    there.send(None)
    while group := there.recv():
        yield group
        there.send(None)
