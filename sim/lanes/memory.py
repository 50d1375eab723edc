"""The memory of a device, which several threads share: who finds too little takes smaller parts, or waits."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from threading import Condition, Lock
from typing import TypeVar

from keyaction.sim.code.machines import no_memory
from keyaction.sim.code.no_gpu import NoGpu

Found = TypeVar("Found")


class _Tally:
    """How many works are under way, and how many have ended."""

    under_way = ended = 0


_TALLY, _ENDED, _ONE_WAITS = _Tally(), Condition(), Lock()


def _tried(work: Callable[[], Found]) -> tuple[list[Found], bool]:
    """What comes of a work, nothing where there is no memory for it; and whether others had some of it meanwhile."""
    with _ENDED:
        _TALLY.under_way += 1
        before = _TALLY.ended
    try:
        return [work()], False
    except Exception as problem:  # what it took is free once its error is
        if not no_memory(problem):
            raise
        with _ENDED:
            crowded = _TALLY.under_way > 1 or _TALLY.ended > before
    finally:
        with _ENDED:
            _TALLY.under_way -= 1
            _TALLY.ended += 1
            _ENDED.notify_all()
    return [], crowded


def with_memory(work: Callable[[], Found]) -> Found:
    """Do a work; where there is no memory for it, again when others have ended theirs.

    Raises
    ------
    keyaction.sim.code.no_gpu.NoGpu
        When there is none although nobody else has any.
    """
    found, crowded = _tried(work)
    if crowded:
        with _ONE_WAITS:  # those who wait have none
            while crowded:
                with _ENDED:
                    if _TALLY.under_way:
                        _ENDED.wait()
                found, crowded = _tried(work)
    if not found:
        raise NoGpu("the GPU has too little memory left for one block of designs; end what else uses it")
    return found[0]


def in_parts(work: Callable[[slice], None], part: slice, width: int) -> None:
    """Do a work on a part of many, in blocks of a width; on halves of it where there is too little memory for all.

    Raises
    ------
    keyaction.sim.code.no_gpu.NoGpu
        When there is none for one block.
    """
    blocks = -(-(part.stop - part.start) // width)
    if blocks < 2:
        with_memory(partial(work, part))
    elif not _tried(partial(work, part))[0]:
        middle = part.start + blocks // 2 * width
        in_parts(work, slice(part.start, middle), width)
        in_parts(work, slice(middle, part.stop), width)
