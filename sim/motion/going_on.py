"""Whether a long computation goes on: who began it may let it wait, or give it up, between the pieces of a motion."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import local

_thread = local()


@contextmanager
def asking(whether: Callable[[], None]) -> Iterator[None]:
    """Within it every motion that this thread integrates calls `whether` before each of its pieces.

    Parameters
    ----------
    whether : callable
        Returns when it may go on; what it raises ends the computation.
    """
    before = getattr(_thread, "whether", None)
    _thread.whether = whether
    try:
        yield
    finally:
        _thread.whether = before


def may_go_on() -> None:
    """Wait until the motion may go on; nothing where nobody asked."""
    whether = getattr(_thread, "whether", None)
    if whether is not None:
        whether()
