"""A desk at which processes hand in lanes: one process holds the device and plays together what waits there.

A GPU shared by processes of its own works for one of them at a time, and the motions of a few hundred designs take it
nearly as long as those of ten thousand.
"""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
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
    Engine,
    Flags,
    Runner,
    Threads,
    c_text,
    constants_here,
    known_rows,
    machine_of,
)
from keyaction.sim.lanes.laid import Laid
from keyaction.sim.lanes.levels import Ready
from keyaction.sim.lanes.sent import HERE, Kept, Sent
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
    real: str
    laid: Laid

    @property
    def kind(self) -> tuple[object, ...]:
        """What is of one kind can be played together."""
        laid = self.laid
        return self.text, self.real, laid.play, laid.places, laid.tenths is None


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
            found = Runner(self._machine, one.real).run(one.text, _joined([each.laid for each in wanted]))
        except NoGpu as problem:
            return [problem] * len(wanted)
        except Exception as problem:  # whoever asked is told
            return [RuntimeError(f"{type(problem).__name__}: {problem}")] * len(wanted)
        return np.split(found, np.cumsum([len(each.laid) for each in wanted])[:-1])


def _joined(parts: Sequence[Laid]) -> Laid:
    """Lanes of several behind each other."""
    levels = [one.levels.at(HERE) for one in parts]
    first = np.cumsum([0, *(len(one["h"]) for one in levels)])
    rows = [one.constants.here() if one.base is None else one.constants.here()[one.base] for one in parts]
    tenths = [one.tenths for one in parts if one.tenths is not None]
    return replace(
        parts[0],
        levels=Ready({name: np.concatenate([one[name] for one in levels]) for name in levels[0]}),
        constants=Sent(np.concatenate(rows)),
        base=None,
        which=np.concatenate([one.which + more for one, more in zip(parts, first, strict=False)]),
        tenths=np.concatenate(tenths) if tenths else None,
    )


class AtDesk:
    """Hands watched motions in at a desk; what else there is the processor does."""

    def __init__(self, structure: Structure, real: str, jobs: int, address: Address) -> None:
        self.rows: LaneRows = load_rows(structure, real)
        self._structure, self._jobs, self._address = structure, jobs, address

    @cached_property
    def _here(self) -> Threads:
        return Threads(load_lanes(self._structure, self.rows.real), self._jobs)

    def constants(self, parameters: Sent, steps: Sent, nought: Sequence[int] = ()) -> tuple[Kept, dict[int, float]]:
        found, simple = constants_here(self.rows, parameters, steps, nought, self._jobs)
        return Sent(found), known_rows(self.rows, simple)

    def rest(self, laid: Laid, sizes: Sequence[int]) -> tuple[Floats, Flags]:
        return self._here.rest(laid, sizes)

    def trace(self, laid: Laid, steps: int, every: int) -> Floats:
        return self._here.trace(laid, steps, every)

    def play(self, laid: Laid) -> Floats:
        text = c_text(self.rows, laid.known, laid.play.motion)
        desk = _connected(self._address)
        desk.send(Wanted(text, self.rows.real, replace(laid, levels=Ready.of(laid.levels))))
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


def handed_in() -> bool:
    """Whether this process hands its motions in at a desk."""
    return bool(_GIVEN)


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
