"""What the pictures of a comparison share: names of the variants that fit a legend."""

from __future__ import annotations

import textwrap

from keyaction.sim.result import Result

_LONGEST = 46


def names(result: Result) -> list[str]:
    """Letter and name of every variant, shortened."""
    found = []
    for letter, name in zip(result["letter"], result["variant"], strict=True):
        found.append(f"{letter}  {textwrap.shorten(str(name), _LONGEST, placeholder=' ...')}")
    return found
