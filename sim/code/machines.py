"""What runs C texts, of lanes and of presses: a GPU by CuPy, or this machine by its own C compiler.

The second is there so that the text can be tested, and tried, without a GPU; it is slower than the lanes of Numba.
"""

from __future__ import annotations

import ctypes
import hashlib
import os
import shutil
import subprocess
from collections.abc import Hashable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from functools import lru_cache
from importlib import import_module
from threading import Lock
from typing import Any, Protocol

import numpy as np

from keyaction.sim.code.c_text import EXACT, THREADS
from keyaction.sim.code.cache import temporary_folder
from keyaction.sim.code.no_gpu import GpuFailed, NoGpu

CC = ("-O1", "-ffp-contract=off", "-shared", "-fPIC")
_FIRST = "the GPU cannot be used"
MANY = 8192
"""Lanes that fill a good part of a GPU."""
AT_ONCE, SOON, LATER = -2, -1, 0
"""Urgency of what is done on a GPU: what prepares and reads motions else waits for those of others, and so do they."""
SPARED, SPARED_SHARE = 2 << 30, 16
"""Bytes of a GPU that arrays leave to its driver, or a share of a small one: for programs, stacks, and streams."""


class Machine(Protocol):
    """Where C texts run.

    Attributes
    ----------
    arrays : module
        NumPy, or CuPy.
    devices : int
        How many there are that can share the work.
    """

    arrays: Any
    devices: int

    def on(self, device: int, asks: Hashable = 0) -> AbstractContextManager[Any]:
        """What is done within is done on this device, beside what others do there who ask; `asks` tells them apart."""

    def here(self) -> int:
        """The device on which things are done now."""

    def finish(self) -> None:
        """Wait for all that was asked here, so that others may use it."""

    def room(self) -> int:
        """Bytes that arrays may take now."""

    def call(self, text: str, function: str, lanes: int, *given: Any, threads: int = THREADS) -> None:
        """Run a function of a text over so many lanes, `threads` together; `given` are arrays and NumPy numbers.

        Few lanes go before many of others, and what is done beside it before both.
        """


class OwnCompiler:
    """This machine, by its C compiler."""

    arrays: Any = np
    devices = 1

    def __init__(self) -> None:
        self.compiler = shutil.which("cc")
        if self.compiler is None:
            raise NoGpu("no C compiler is found here: there is no cc")

    def on(self, device: int, asks: Hashable = 0) -> AbstractContextManager[Any]:  # noqa: ARG002
        return nullcontext()

    def here(self) -> int:
        return 0

    def finish(self) -> None:
        return

    def room(self) -> int:
        return 1 << 30

    def call(self, text: str, function: str, lanes: int, *given: Any, threads: int = THREADS) -> None:  # noqa: ARG002
        called = _library(str(self.compiler), text)[function]
        called.restype = None
        called(ctypes.c_longlong(lanes), *(_as_c(one) for one in given))


def _as_c(one: Any) -> Any:
    if isinstance(one, np.ndarray):
        return ctypes.c_void_p(one.ctypes.data)
    kinds: dict[Any, Any] = {np.float64: ctypes.c_double, np.float32: ctypes.c_float, np.int32: ctypes.c_int}
    return kinds[type(one)](one.item())


def _library(compiler: str, text: str) -> Any:
    with _ONE_AT_A_TIME:
        return _made(compiler, text)


_ONE_AT_A_TIME = Lock()
"""Two threads that ask for one text would write one file."""


@lru_cache(maxsize=64)
def _made(compiler: str, text: str) -> Any:
    name = hashlib.sha256(text.encode()).hexdigest()[:24]
    source, made = (temporary_folder() / f"{name}.{kind}" for kind in ("c", "so"))
    source.write_text(text, encoding="utf-8")
    subprocess.run([compiler, *CC, "-o", str(made), str(source), "-lm"], check=True, capture_output=True)
    return ctypes.CDLL(str(made))


class Gpu:
    """The GPUs of this machine, by CuPy, which keeps what it has compiled by its text."""

    def __init__(self) -> None:
        try:
            self.arrays = import_module("cupy")
        except Exception as problem:  # also a CuPy that its own libraries break
            told = f"{type(problem).__name__}: {problem}".split("\n")[0]
            raise NoGpu(f'{_FIRST}: it needs CuPy ({told}); get it with: pip install "keyaction[gpu]"') from None
        self.devices, self._streams, self._bounded = self._count(), dict[tuple[int, Hashable, int], Any](), set[int]()
        self._tried()

    def _count(self) -> int:
        runtime = self.arrays.cuda.runtime
        try:
            return int(runtime.getDeviceCount())
        except Exception as problem:
            told = f"{problem}".split("\n")[0]
            if "InsufficientDriver" in told:
                raise NoGpu(f"{_FIRST}: its driver is too old for this CuPy ({told}); renew the driver") from None
            raise NoGpu(f"{_FIRST}: no GPU is found ({told})") from None

    def _tried(self) -> None:
        """A line of C compiled and run: what a driver that is too old, or a toolkit that lacks parts, fails at."""
        try:
            text = 'extern "C" __global__ void __launch_bounds__(128) nothing(long long N, double *to) { *to = N; }'
            to = self.arrays.zeros(1)
            self.call(text, "nothing", 7, to)
            sound = float(to[0]) == 7.0
        except Exception as problem:
            told = f"{type(problem).__name__}: {problem}".split("\n")[0]
            raise NoGpu(f"{_FIRST}: CuPy cannot compile for it or run on it ({told})") from None
        if not sound:
            raise NoGpu(f"{_FIRST}: it computes wrong")

    @contextmanager
    def on(self, device: int, asks: Hashable = 0) -> Iterator[None]:
        try:
            with self.arrays.cuda.Device(device), self._stream(device, asks, AT_ONCE):
                self._spare(device)
                yield
        except Exception as problem:
            if not type(problem).__module__.startswith(_DRIVER):
                raise
            told = f"{problem}".split("\n")[0]
            if no_memory(problem):
                raise MemoryError(told) from problem
            raise GpuFailed(f"the GPU failed amid its work ({told})") from problem

    def _spare(self, device: int) -> None:
        if device not in self._bounded:
            size = self.arrays.cuda.runtime.memGetInfo()[1]
            self.arrays.get_default_memory_pool().set_limit(size=size - min(SPARED, size // SPARED_SHARE))
            self._bounded.add(device)

    def _stream(self, device: int, asks: Hashable, urgency: int) -> Any:
        key = device, asks, urgency
        if key not in self._streams:
            self._streams[key] = self.arrays.cuda.Stream(non_blocking=True, priority=urgency)
        return self._streams[key]

    def here(self) -> int:
        return int(self.arrays.cuda.runtime.getDevice())

    def finish(self) -> None:
        self.arrays.cuda.get_current_stream().synchronize()

    def room(self) -> int:
        pool = self.arrays.get_default_memory_pool()
        free = self.arrays.cuda.runtime.memGetInfo()[0] + pool.free_bytes()
        limit = pool.get_limit() or free + pool.used_bytes()
        return int(0.8 * min(free, limit - pool.used_bytes()))

    def call(self, text: str, function: str, lanes: int, *given: Any, threads: int = THREADS) -> None:
        called = _module(text, self.here()).get_function(function)
        how = (-(-lanes // threads),), (threads,), (np.int64(lanes), *given)
        now = self.arrays.cuda.get_current_stream()
        if not now.ptr:  # nobody else is there
            called(*how)
            return
        motion = self._stream(self.here(), now.ptr, SOON if lanes < MANY else LATER)
        motion.wait_event(now.record())
        with motion:
            called(*how)
        now.wait_event(motion.record())


def no_memory(problem: BaseException) -> bool:
    """Whether there was no memory, here or on a GPU; its driver has several words for it."""
    return isinstance(problem, MemoryError) or any(word in str(problem) for word in _NO_MEMORY)


_NO_MEMORY = "cudaErrorMemoryAllocation", "CUDA_ERROR_OUT_OF_MEMORY"
_DRIVER = "cupy_backends."
"""Where errors of the driver are at home in CuPy."""


def sharing(machine: Machine, lanes: int) -> int:
    """How many devices share so many lanes: each has enough to do."""
    return max(1, min(machine.devices, lanes // MANY))


def here(there: Any) -> Any:
    """An array of a device, as one of this machine."""
    return np.asarray(there.get() if hasattr(there, "get") else there)


def see_only(device: int) -> None:
    """Let this process see one of the GPUs that it would see; before it has used any."""
    seen = os.environ.get(_SEEN)
    os.environ[_SEEN] = seen.split(",")[device] if seen else str(device)


_SEEN = "CUDA_VISIBLE_DEVICES"


@lru_cache(maxsize=256)
def _module(text: str, device: int) -> Any:  # noqa: ARG001  a module is loaded for one device
    exact = ("--fmad=false",) if text.startswith(EXACT) else ()
    return import_module("cupy").RawModule(code=text, options=("-std=c++14", *exact))


@lru_cache(maxsize=1)
def gpu() -> Gpu:
    """The GPUs of this machine, tried once.

    Raises
    ------
    NoGpu
        When there is none, or it cannot be used.
    """
    return Gpu()


@lru_cache(maxsize=1)
def own_compiler() -> OwnCompiler:
    """This machine's C compiler.

    Raises
    ------
    NoGpu
        When there is none.
    """
    return OwnCompiler()
