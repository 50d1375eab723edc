"""What all commands share: exit statuses, and the width of what is printed."""

from __future__ import annotations

DONE, FAILED, BAD_INPUT, STOPPED = 0, 1, 2, 130
"""Exit statuses: done; a note or a file failed; the input is wrong; stopped by Ctrl-C."""
WIDTH = 80

STATUSES = """\
exit status:
  0  done
  1  some notes failed, or a file could not be written
  2  wrong input; nothing was written
  130  stopped by Ctrl-C"""


def many(count: int, word: str, more: str = "s") -> str:
    """So many of what a word names: "1 design", "5 designs"."""
    return f"{count} {word}{more if count != 1 else ''}"
