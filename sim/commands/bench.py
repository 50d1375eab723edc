"""keyaction bench: a page in the browser on which fields are moved and what comes of them is seen."""

from __future__ import annotations

import argparse
import os
import socket
import sys
import threading
import time
import webbrowser
from collections.abc import Callable
from contextlib import suppress
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from keyaction.cases.action.trains import one_note
from keyaction.cases.instrument.reader import is_instrument, read_stands
from keyaction.plots.bench.answers import Answers
from keyaction.plots.bench.app import application
from keyaction.plots.bench.guard import Guard
from keyaction.plots.bench.threads import THREADS
from keyaction.sim.bench.workbench import Workbench
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.commands.chosen import choose
from keyaction.sim.commands.common import BAD_INPUT, DONE
from keyaction.sim.commands.console import out, tell
from keyaction.sim.commands.divisions import one_division, wanted_divisions
from keyaction.sim.commands.on_rail import on_rail

if TYPE_CHECKING:
    from uvicorn import Server

_LOOPBACK = "127.0.0.1"
_PATIENCE = 5
"""s that answers under way have when the bench closes."""
_HELD = 75
"""s that a connection is kept for the next question."""
_LEFT = 1.0
"""s that work under way has then to end by itself."""
MISSING = 'bench needs Starlette and uvicorn: pip install "keyaction[bench]"'


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    if find_spec("starlette") is None or find_spec("uvicorn") is None:
        tell(MISSING)
        return BAD_INPUT
    if not 0 <= options.port <= 65535:
        tell(f"--port {options.port}: 0 (any free one) to 65535")
        return BAD_INPUT
    need_numba()
    bench = _bench(options)
    note = one_note(bench.case, options.note) if options.note and bench.case else None
    if bench.case and (line := on_rail(bench.case, [note or bench.case.compass[0]], "trade")):
        tell(f"note: {line}")
    try:
        listening = listening_at(options.port)
    except OSError as problem:
        tell(f"--port {options.port}: {problem.strerror}; leave it out to have a free one")
        return BAD_INPUT
    with listening:
        guard = Guard(listening.getsockname()[1])
        _serve(Answers(bench, note, Path.cwd()), guard, listening, not options.no_browser)
    out().print("The bench is closed.", markup=False)
    _end_at_once_what_compiles()
    return DONE


def _bench(options: argparse.Namespace) -> Workbench:
    """The case on the bench: of an instrument that of one division; either may have defects."""
    if is_instrument(options.case):
        names = wanted_divisions(options.division, read_stands(options.case).names)
        one_division(names, "bench")
        return Workbench.of_division(options.case, names[0])
    if options.division:
        choose(options)  # which refuses it
    return Workbench.opened(options.case)


def listening_at(port: int) -> socket.socket:
    """A socket that listens to this machine alone."""
    # With its protocol named answers are sent at once; else the loop lets small ones wait for 40 ms.
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        if sys.platform != "win32":  # there it would let another program listen beside this one
            made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind((_LOOPBACK, port))
        made.listen(64)
    except OSError:
        made.close()
        raise
    return made


def _serve(answers: Answers, guard: Guard, listening: socket.socket, browser: bool) -> None:
    """Answer until the page or Ctrl-C ends it."""
    import uvicorn

    servers: list[Server] = []

    def close() -> None:
        servers[0].should_exit = True

    made = application(answers, guard, close, lambda: servers[0].should_exit)
    config = uvicorn.Config(
        made, log_config=None, log_level="error", access_log=False, ws="none",
        server_header=False, date_header=False, timeout_graceful_shutdown=_PATIENCE,
        timeout_keep_alive=_HELD, lifespan="on",
    )  # fmt: skip
    servers.append(uvicorn.Server(config))
    _told(answers, guard, webbrowser.open if browser else None)
    with suppress(KeyboardInterrupt):  # raised again once the server has ended in order
        servers[0].run(sockets=[listening])


def _end_at_once_what_compiles() -> None:
    """Nothing else stops the compiling of equations, for which nobody waits any more; files are never half."""
    until = time.monotonic() + _LEFT
    for one in threading.enumerate():
        if one.name.startswith(THREADS):
            one.join(max(0.0, until - time.monotonic()))
            if one.is_alive():
                sys.stdout.flush()
                os._exit(DONE)


def _told(answers: Answers, guard: Guard, browser: Callable[[str], bool] | None) -> None:
    console, bench = out(), answers.bench
    title = f"{bench.path.name}: {bench.case.title}" if bench.case else bench.path.name
    console.print(title, style="bold", markup=False)
    if bench.problem is not None:
        tell(str(bench.problem))
    console.print(f"The bench stands at {guard.address}", markup=False, soft_wrap=True, highlight=False)
    console.print("Ctrl-C ends it, and so does the page.", markup=False)
    sys.stdout.flush()
    if browser is not None and not browser(guard.address):
        tell("no browser was found: open the address in one")
