"""Work that only compiled lanes can do is refused before it begins where they cannot be compiled."""

from __future__ import annotations

import os
from importlib import import_module

from keyaction.sim.code.kernel import PLAIN, asked_plain
from keyaction.sim.code.no_numba import NoNumba


def need_numba() -> None:
    """Make sure that lanes can be compiled.

    Raises
    ------
    NoNumba
        If Numba cannot be loaded, or ``KEYACTION_PLAIN`` asks to do without it.
    """
    if asked_plain():
        raise NoNumba(f"{PLAIN} is set: unset it")
    if os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0"):
        raise NoNumba("NUMBA_DISABLE_JIT is set: unset it")
    try:
        import_module("numba")
    except Exception as problem:  # also a Numba that its own libraries break
        told = str(problem).split("\n")[0]
        raise NoNumba(f"{type(problem).__name__}: {told}; get it with: pip install numba") from None
