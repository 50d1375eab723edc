"""What is said where Numba is missing."""

THEY = "sweep, search, compare, tune, run --spread, seasons, rail, adjust, bench and report --seasons"
"""The commands that go by lanes."""


class NoNumba(RuntimeError):
    """Lanes cannot be compiled here; the message says why and what to do."""

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why

    def __str__(self) -> str:
        return f"{THEY} compute many designs at once, which needs Numba ({self.why})"
