"""Small mechanisms out of the program's own parts: the bench on which the published ones are played."""

from keyaction.sim.published.bench import Bench, bench

__all__ = ["Bench", "bench"]
