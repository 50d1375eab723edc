"""Whether an error is only what compiled code made of Ctrl-C."""

from __future__ import annotations


def broken_off(problem: BaseException) -> bool:
    """Whether a signal to stop stands behind an error: one that lands within compiled code comes out as another."""
    seen: set[int] = set()
    waiting: list[BaseException | None] = [problem]
    for one in waiting:
        if one is None or id(one) in seen:
            continue
        if isinstance(one, KeyboardInterrupt):
            return True
        seen.add(id(one))
        waiting += [one.__cause__, one.__context__]
    return False
