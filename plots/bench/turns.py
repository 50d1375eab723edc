"""Newer questions go before older ones of the same page."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, field

_PAGES = 256
"""Pages and kinds of question that are remembered."""


@dataclass
class Turns:
    """The newest turn of every page, kind by kind; asked and told from one thread alone."""

    _newest: OrderedDict[tuple[str, str], int] = field(default_factory=OrderedDict)

    def asks(self, page: str, kind: str, turn: int) -> bool:
        """A question has come; False of one that an earlier, newer one has taken the place of."""
        if not page:
            return True
        key = page, kind
        newest = max(turn, self._newest.pop(key, turn))
        self._newest[key] = newest
        while len(self._newest) > _PAGES:
            self._newest.popitem(last=False)
        return turn >= newest

    def stale(self, page: str, kind: str, turn: int) -> bool:
        """Whether a newer question of the same kind has come since."""
        return bool(page) and self._newest.get((page, kind), turn) > turn
