"""How long a test waits for what must happen: for the event itself, with a limit that only keeps it from hanging."""

from __future__ import annotations

import time
from collections.abc import Callable

HANG = 900.0
"""s: far beyond what any step takes on a machine that has much else to do."""


def wait_for(condition: Callable[[], object], timeout: float = HANG) -> bool:
    """Whether a condition comes true at all."""
    until = time.monotonic() + timeout
    while time.monotonic() < until:
        if condition():
            return True
        time.sleep(0.01)
    return False
