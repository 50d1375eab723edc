"""Signs that cannot be seen, and texts without them."""

from __future__ import annotations

import re

UNSEEN = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]")
"""Signs that cannot be seen: they cut a text off, reverse it or move the cursor."""
_LONGEST, _ENDING = 700, 300
"""Signs of a line that are shown, and of its end: what is wrong stands there."""


def unseen(text: str) -> str:
    """Name of the first sign that cannot be seen; empty where all can."""
    found = UNSEEN.search(text)
    return f"a sign that cannot be seen (U+{ord(found[0]):04X})" if found else ""


def without_unseen(text: str) -> str:
    """The text with a question mark for each sign that cannot be seen."""
    return UNSEEN.sub("?", text)


def legible(text: str) -> str:
    """A message as it may be shown: no sign in it that cannot be seen, and no line without an end."""
    return "\n".join(map(_cut, without_unseen(text).split("\n")))


def _cut(line: str) -> str:
    return line if len(line) <= _LONGEST + _ENDING else f"{line[:_LONGEST]} ... {line[-_ENDING:]}"
