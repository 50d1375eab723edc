"""What is being done, said on a terminal while it lasts; nothing in a pipe."""

from __future__ import annotations

import sys

from keyaction.sim.commands.console import err


class Stages:
    """A line of standard error that tells the stage; call it with the words of the next one."""

    def __init__(self) -> None:
        self._status = err().status("") if sys.stderr.isatty() else None

    def __enter__(self) -> Stages:
        if self._status:
            self._status.start()
        return self

    def __exit__(self, *_: object) -> None:
        if self._status:
            self._status.stop()

    def __call__(self, text: str) -> None:
        if self._status:
            self._status.update(text)
