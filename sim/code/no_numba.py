"""What is said where Numba is missing."""


class NoNumba(RuntimeError):
    """Lanes cannot be compiled here; the message says why and what to do."""

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why

    def __str__(self) -> str:
        return f"sweep, compare and tune compute many designs at once, which needs Numba ({self.why})"
