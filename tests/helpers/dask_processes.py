"""A Dask scheduler and workers in processes of their own, on loopback."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import held

HELD_FROM = "8"
"""Where a sweep is to be broken off, the workers get no block done from here on."""


def dask(*words: object, **more: str) -> subprocess.Popen[bytes]:
    """`dask ...` in a process of its own."""
    line = [sys.executable, "-m", "dask", *map(str, words)]
    # The workers find the tests' own work by its name.
    known = {**os.environ, "PYTHONPATH": str(Path(held.__file__).parent), held.BLOCKS: HELD_FROM, **more}
    return subprocess.Popen(line, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=known)


def free_port() -> int:
    """A port that nobody listens at."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def start_scheduler(address: str) -> subprocess.Popen[bytes]:
    """A scheduler without workers."""
    return dask("scheduler", "--host", "127.0.0.1", "--port", address.rpartition(":")[2], "--no-dashboard")


def start_worker(address: str, threads: int = 1, **more: str) -> subprocess.Popen[bytes]:
    """A worker, with more in its environment."""
    return dask("worker", address, "--no-nanny", "--nthreads", threads, "--no-dashboard", "--memory-limit", 0, **more)


@contextmanager
def scheduling() -> Iterator[str]:
    """Address of a scheduler without workers."""
    address = f"tcp://127.0.0.1:{free_port()}"
    process = start_scheduler(address)
    try:
        yield address
    finally:
        process.kill()
        process.wait()
