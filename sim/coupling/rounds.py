"""All couplers of an instrument in rounds that can be regulated: in none do they go round in a loop."""

from __future__ import annotations

from collections.abc import Sequence

from keyaction.cases.instrument.drawn import CouplerProblem, drawn_couplers
from keyaction.cases.instrument.instrument import Instrument


def rounds_of(instrument: Instrument) -> tuple[tuple[str, ...], ...]:
    """The couplers in as few rounds as the order of the file gives; one where none stands in a loop.

    Of a loop the first that the file names come first, and what would close it goes to a later round.

    Raises
    ------
    keyaction.CouplerProblem
        Where there is no coupler, or one goes round in a loop by itself.
    """
    waiting, found = list(instrument.couplers), list[tuple[str, ...]]()
    if not waiting:
        drawn_couplers(instrument, "all-on")  # which says that there is none
    while waiting:
        kept: list[str] = []
        for name in waiting:
            if _sound(instrument, [*kept, name]):
                kept.append(name)
        found.append(tuple(kept) or drawn_couplers(instrument, waiting[:1]))
        waiting = [name for name in waiting if name not in found[-1]]
    return tuple(found)


def _sound(instrument: Instrument, names: Sequence[str]) -> bool:
    try:
        drawn_couplers(instrument, names)
    except CouplerProblem:
        return False
    return True


def rounds_told(rounds: Sequence[Sequence[str]]) -> list[str]:
    """Which couplers are regulated apart from those before them, and why; nothing where one round holds all."""
    before, lines = list[str](), list[str]()
    for names in rounds:
        if before:
            each = "it closes a loop" if len(names) == 1 else "each closes a loop"
            lines.append(
                f"{', '.join(names)}: left out above, for with {', '.join(before)} {each}; regulated by "
                f"{'itself' if len(names) == 1 else 'themselves'}, none of those drawn."
            )
        before += names
    return lines
