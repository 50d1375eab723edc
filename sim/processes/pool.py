"""Processes that compute and leave Ctrl-C to their parent."""

from __future__ import annotations

import gc
import os
import signal
import threading
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import get_context, parent_process

RARELY = 50_000
"""Objects made between two looks for garbage."""


def quiet_worker() -> None:
    """Leave Ctrl-C to the parent, and end with it however it ends; look for garbage less often while modules load."""
    gc.set_threshold(RARELY)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    if parent := parent_process():
        parent.join()
        os._exit(1)


@contextmanager
def no_interrupt() -> Iterator[None]:
    """Processes started meanwhile do not feel Ctrl-C even while they load; here it waits until afterwards."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def new_pool(jobs: int) -> ProcessPoolExecutor:
    """A pool of fresh processes; submit to it under `no_interrupt`, for that is when they are started."""
    return ProcessPoolExecutor(jobs, mp_context=get_context("spawn"), initializer=quiet_worker)


def broken(pool: ProcessPoolExecutor) -> bool:
    """Whether a process of the pool died.

    The pool itself never tells of a task handed in just then, nor of any where a process died amid a message.
    """
    workers = list((pool._processes or {}).values())
    return bool(getattr(pool, "_broken", False)) or not all(worker.is_alive() for worker in workers)


def close_pool(pool: ProcessPoolExecutor, now: bool) -> None:
    """Let a pool end; `now` stops what it is doing."""
    if now:
        # A worker stopped amid a message leaves half of it: with our own writing end shut, the reader sees the end.
        results = getattr(pool, "_result_queue", None)
        if results is not None and not results._writer.closed:
            results._writer.close()
        for worker in list((pool._processes or {}).values()):
            worker.terminate()
    pool.shutdown(wait=True, cancel_futures=True)
