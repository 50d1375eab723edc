"""Threads that answer the questions of pages, one after the other; who waits gives way to a newer question."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Hashable
from concurrent.futures import ThreadPoolExecutor
from threading import Event
from typing import Any, TypeVar

THREADS = "bench-"
"""How the names of the threads begin."""
_WAITING = 1024
"""Pages and kinds of question that may wait for one thread."""
_LOOK = 0.2
"""s from one look at whether the bench is closing to the next."""
_Found = TypeVar("_Found")


class GaveWay(Exception):
    """A newer question has come, or the bench is closing."""


class Full(Exception):
    """More questions wait than are kept."""


class Line:
    """A thread and the questions that wait for it; used from one event loop.

    Parameters
    ----------
    name : str
        Of the thread.
    ending : callable
        Whether the bench is closing: then nobody waits for work that is under way.

    Attributes
    ----------
    idle : Event
        Set while nothing is under way; may be waited for from other threads.
    """

    def __init__(self, name: str, ending: Callable[[], bool] = lambda: False) -> None:
        self._ending = ending
        self._pool = ThreadPoolExecutor(1, thread_name_prefix=f"{THREADS}{name}")
        self._free = asyncio.Lock()
        self._waiting: dict[Hashable, asyncio.Future[None]] = {}
        self._open = True
        self.idle = Event()
        self.idle.set()

    async def run(self, key: Hashable, work: Callable[[], _Found], stale: Callable[[], bool]) -> _Found:
        """What comes of work.

        Parameters
        ----------
        key : hashable
            Who asks for what: one that waits gives way to a later one with the same key.
        work : callable
        stale : callable
            Asked before the work is begun.

        Raises
        ------
        GaveWay, Full
        """
        await self._turn(key)
        try:
            if stale() or not self._open:
                raise GaveWay
            self.idle.clear()
            done = asyncio.get_running_loop().run_in_executor(self._pool, work)
            done.add_done_callback(lambda one: one.cancelled() or one.exception())  # nobody may be left to ask
            while not done.done():
                if self._ending():
                    raise GaveWay
                await asyncio.wait({done}, timeout=_LOOK)
            return done.result()
        finally:
            self.idle.set()
            self._free.release()

    async def _turn(self, key: Hashable) -> None:
        """Wait until the thread is free; it is held when this returns."""
        before = self._waiting.pop(key, None)
        if before is not None and not before.done():
            before.set_result(None)
        if len(self._waiting) >= _WAITING:
            raise Full
        gone = self._waiting[key] = asyncio.get_running_loop().create_future()
        taking = asyncio.ensure_future(self._free.acquire())
        try:
            await asyncio.wait({taking, gone}, return_when=asyncio.FIRST_COMPLETED)
        except asyncio.CancelledError:
            self._give_up(taking)
            raise
        finally:
            if self._waiting.get(key) is gone:
                del self._waiting[key]
        if gone.done():
            self._give_up(taking)
            raise GaveWay

    def _give_up(self, taking: asyncio.Future[Any]) -> None:
        """Leave the line, or the thread where it was just taken."""
        if taking.done() and not taking.cancelled():
            self._free.release()
        else:
            taking.cancel()

    def end(self) -> None:
        """Begin nothing any more."""
        self._open = False
        self._pool.shutdown(wait=False, cancel_futures=True)
