"""Choice between two values without a branch, for compiled lanes."""

from __future__ import annotations

from typing import Any

from numba import types
from numba.extending import intrinsic


@intrinsic
def pick(typingctx: Any, condition: Any, yes: Any, no: Any) -> Any:  # noqa: ARG001  numba's signature
    """`yes` where `condition`, else `no`: one machine instruction, so that the loop over lanes stays straight."""
    if not (isinstance(condition, types.Boolean) and isinstance(yes, types.Float) and yes == no):
        return None

    def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:  # noqa: ARG001
        return builder.select(*arguments)

    return yes(condition, yes, no), generate
