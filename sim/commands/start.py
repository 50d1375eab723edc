"""From a command line to the command that acts on it, and from what goes wrong to a message and an exit status."""

from __future__ import annotations

import argparse
import gc
import os
import signal
import sys
import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from importlib import import_module
from pathlib import Path
from types import ModuleType

from keyaction.sim.commands.common import FAILED, STOPPED
from keyaction.sim.commands.parser import parse


def start(arguments: Sequence[str], alone: bool = False) -> int:
    """Carry out a command line.

    Parameters
    ----------
    arguments : sequence of str
    alone : bool
        Whether it is the only thing that the process is for.

    Returns
    -------
    int
        The exit status.
    """
    _print_anything()
    if alone:
        warnings.showwarning = _note_or(warnings.showwarning)
    with ExitStack() as loading:
        if alone:
            loading.enter_context(_interrupt_ends_at_once())
            loading.enter_context(_nothing_is_garbage())
        options = parse(arguments)
        command = worker(options)
    try:
        status: int = command.act(options)
        sys.stdout.flush()
    except BrokenPipeError:
        sys.stderr.close()
        return FAILED
    except Exception as problem:
        return _complain(problem, options)
    return status


def worker(options: argparse.Namespace) -> ModuleType:
    """The module of the command; what it needs is loaded with it."""
    return import_module(f"keyaction.sim.commands.{options.worker}")


def _complain(problem: Exception, options: argparse.Namespace) -> int:
    from keyaction.sim.commands.complaints import complaint  # here, because it knows what any command may raise
    from keyaction.sim.commands.console import tell

    told = complaint(problem, options)
    if told is None:
        raise problem
    text, status = told
    tell(text)
    return status


def _print_anything() -> None:
    """Signs that the terminal's encoding lacks are printed by their numbers, as on the channel for complaints.

    Even UTF-8 lacks some: those of a file name that is no text.
    """
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:  # closed by who started the process
            setattr(sys, name, Path(os.devnull).open("w", encoding="utf-8"))  # noqa: SIM115  open to the end
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(errors="backslashreplace")


def _note_or(usual: Callable[..., None]) -> Callable[..., None]:
    """What the program itself has to say is one line; warnings of libraries are shown as usual."""

    def shown(message: Warning | str, category: type[Warning], *place: object, **more: object) -> None:
        if category.__module__.startswith("keyaction."):
            print(f"note: {message}", file=sys.stderr)
        else:
            usual(message, category, *place, **more)

    return shown


@contextmanager
def _interrupt_ends_at_once() -> Iterator[None]:
    """While modules load, nothing has begun, and an exception amid an import may be lost or told of twice."""
    before = signal.getsignal(signal.SIGINT)
    if before is not signal.default_int_handler:
        yield
        return
    signal.signal(signal.SIGINT, _end)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


@contextmanager
def _nothing_is_garbage() -> Iterator[None]:
    """What modules hold stays to the end: to look through it for garbage takes an eighth of the time to load them."""
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        gc.enable()


def _end(*_: object) -> None:
    os.write(2, b"stopped\n")
    os._exit(STOPPED)
