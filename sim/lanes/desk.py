"""A desk at which processes hand in lanes: one process holds the device and plays together what waits there.

A GPU shared by processes of its own works for one of them at a time, and the motions of a few hundred designs take it
nearly as long as those of ten thousand.
"""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass, replace
from multiprocessing.connection import Client, Connection, Listener
from queue import Empty, SimpleQueue
from threading import Thread, local
from typing import Any

import numpy as np

from keyaction.models.train.structure import Structure
from keyaction.sim.code.lane_kernel import LaneRows, load_lanes, load_rows
from keyaction.sim.code.machines import Machine
from keyaction.sim.code.no_gpu import NoGpu
from keyaction.sim.lanes.engines import (
    Compiled,
    Constants,
    Engine,
    Flags,
    Laid,
    Numbers,
    Runner,
    Threads,
    c_text,
    machine_of,
)
from keyaction.sim.motion.integrate import Floats


@dataclass(frozen=True)
class Address:
    """Where a desk is, and the word that it asks for."""

    place: Any
    word: bytes


@dataclass(frozen=True)
class Wanted:
    """A motion that is handed in."""

    text: str
    motion: str
    real: str
    laid: Laid
    steps: Numbers
    rows: tuple[int, ...]

    @property
    def kind(self) -> tuple[object, ...]:
        """What is of one kind can be played together."""
        laid = self.laid
        return self.text, self.motion, self.real, self.rows, laid.height, tuple(laid.rows), laid.states is None


class Desk:
    """Takes motions of other processes until it is closed."""

    def __init__(self, machine: Machine) -> None:
        word = secrets.token_bytes(32)
        self._listener, self._machine = Listener(backlog=256, authkey=word), machine
        self._waiting: SimpleQueue[tuple[Wanted, SimpleQueue[Any]] | None] = SimpleQueue()
        self.address = Address(self._listener.address, word)
        for work in (self._take, self._play):
            Thread(target=work, daemon=True).start()

    def close(self) -> None:
        """Take nothing more."""
        self._waiting.put(None)
        self._listener.close()

    def _take(self) -> None:
        while True:
            try:
                found = self._listener.accept()
            except (OSError, EOFError):  # closed
                return
            except Exception:  # who does not know the word
                continue
            Thread(target=self._serve, args=(found,), daemon=True).start()

    def _serve(self, connection: Connection) -> None:
        """Answer one process until it ends."""
        answer: SimpleQueue[Any] = SimpleQueue()
        try:
            while True:
                self._waiting.put((connection.recv(), answer))
                connection.send(answer.get())
        except Exception:  # a process that ended, perhaps amid a word
            connection.close()

    def _play(self) -> None:
        while (first := self._waiting.get()) is not None:
            waiting = [first]
            try:
                while (more := self._waiting.get_nowait()) is not None:
                    waiting.append(more)
            except Empty:
                pass
            kinds: dict[tuple[object, ...], list[tuple[Wanted, SimpleQueue[Any]]]] = {}
            for one in waiting:
                kinds.setdefault(one[0].kind, []).append(one)
            for group in kinds.values():
                for (_, answer), told in zip(group, self._played([one for one, _ in group]), strict=True):
                    answer.put(told)

    def _played(self, wanted: Sequence[Wanted]) -> Sequence[Any]:
        """Rows of each, or what went wrong for all of them."""
        one = wanted[0]
        try:
            laid, steps = _joined(wanted)
            found = Runner(self._machine, one.real).run(one.text, one.motion, laid, steps, one.rows)
        except NoGpu as problem:
            return [problem] * len(wanted)
        except Exception as problem:  # whoever asked is told
            return [RuntimeError(f"{type(problem).__name__}: {problem}")] * len(wanted)
        return np.split(found, np.cumsum([len(each.laid) for each in wanted])[:-1])


def _joined(wanted: Sequence[Wanted]) -> tuple[Laid, Numbers]:
    """Lanes of several behind each other, and their steps."""
    parts = [one.laid for one in wanted]
    first = np.cumsum([0, *(len(one.constants.values) for one in parts)])
    laid = replace(
        parts[0],
        head=np.concatenate([one.head for one in parts]),
        constants=Constants(np.concatenate([one.constants.values for one in parts])),
        which=np.concatenate([one.which + more for one, more in zip(parts, first, strict=False)]),
        states=None if parts[0].states is None else np.concatenate([_states(one) for one in parts]),
        lengths=np.concatenate([one.lengths for one in parts]),
    )
    return laid, np.concatenate([one.steps for one in wanted])


def _states(laid: Laid) -> Floats:
    assert laid.states is not None
    return laid.states


class AtDesk:
    """Hands watched motions in at a desk; what else there is the processor does."""

    def __init__(self, structure: Structure, real: str, jobs: int, address: Address) -> None:
        self.rows: LaneRows = load_rows(structure, real)
        self._here, self._address = Threads(load_lanes(structure, real), jobs), address

    def rest(self, laid: Laid) -> tuple[Floats, Flags]:
        return self._here.rest(laid)

    def trace(self, laid: Laid, steps: int, every: int) -> Floats:
        return self._here.trace(laid, steps, every)

    def play(self, motion: str, laid: Laid, steps: Numbers, wanted: Sequence[int]) -> Floats:
        text = c_text(self.rows, laid.known, motion)
        desk = _connected(self._address)
        desk.send(Wanted(text, motion, self.rows.real, laid, steps, tuple(wanted)))
        found = desk.recv()
        if isinstance(found, Exception):
            raise found
        return np.asarray(found)


_OPEN = local()
"""Connections of each thread: a question and its answer belong together."""


def _connected(address: Address) -> Connection:
    if getattr(_OPEN, "address", None) != address:
        _OPEN.address, _OPEN.connection = None, Client(address.place, authkey=address.word)
        _OPEN.address = address
    found: Connection = _OPEN.connection
    return found


_GIVEN: list[Address] = []


def hand_in_at(address: Address) -> None:
    """From now on this process hands its motions in at a desk, whatever device is asked for."""
    _GIVEN[:] = [address]


def engine_of(structure: Structure, real: str, device: str, jobs: int) -> Engine:
    """What plays the lanes of a structure on a device.

    Raises
    ------
    keyaction.sim.code.no_gpu.NoGpu
        When there is no such device.
    keyaction.sim.code.no_numba.NoNumba
        If Numba cannot be used.
    """
    if device == "cpu":
        return Threads(load_lanes(structure, real), jobs)
    if _GIVEN:
        return AtDesk(structure, real, jobs, _GIVEN[0])
    return Compiled(load_rows(structure, real), machine_of(device))
