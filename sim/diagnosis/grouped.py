"""Causes in words, one kind of probability at a time: that of a group, then those of its members."""

from __future__ import annotations

from keyaction.models.units.quantity import System
from keyaction.sim.diagnosis.found import Cause, Named, NoteFound
from keyaction.sim.diagnosis.words import group, interval, percent, short

_ALONE = 0.9
"""Share of its group from which on one fault stands for it."""
_LEAST = 0.01
"""Probability below which a member of a group is not named."""
_GROUPS = {
    "nut": "the length of the run is wrong",
    "rubs": "something rubs",
    "spring": "the pallet spring is wrong",
    "lead": "the weight of the key is wrong",
    "rest felt": "the rest felt is wrong",
    "bottom felt": "the bottom felt is wrong",
    "run gives": "the run gives",
    "seal": "the pallet seals on another line than drawn",
    "wind": "the wind is wrong",
    "stops": "other stops are drawn",
}
_SHORT = {
    "rest-felt": "thin", "thick-rest": "thick", "bottom-felt": "thin", "thick-bottom": "thick", "soft-bottom": "soft",
    "hard-bottom": "hard", "dirty-pin": "pin of", "swollen-guide": "guide or hinge of",
}  # fmt: skip
_WITH_PART = ("dirty-pin", "swollen-guide")


def alone(cause: Cause) -> bool:
    """Whether one fault stands for its group."""
    return len(cause.faults) == 1 or cause.faults[0].probability >= _ALONE * cause.probability


def likely(cause: Cause) -> float:
    """Probability that is told of a cause: of the one fault that stands for it, else of the group."""
    return cause.faults[0].probability if alone(cause) else cause.probability


def cause_said(cause: Cause, units: System) -> str:
    """A cause with its amount and its probability; of a group that is not told apart its members with theirs."""
    first = cause.faults[0]
    if alone(cause):
        return f"{first.hypothesis.said()}, {interval(first, units)}; {percent(likely(cause))}"
    members = [one for one in cause.faults if one.probability >= _LEAST]
    named = ", ".join(f"{_member(one)} {percent(one.probability)}" for one in members)
    told = f"{_GROUPS.get(cause.name, cause.name)}; {percent(cause.probability)}; which is not known: {named}"
    return f"{told} ({_member(first)}: {interval(first, units)})"


def _member(one: Named) -> str:
    fault = one.hypothesis.fault
    word = _SHORT.get(fault.name, short(fault))
    return f"{word} {one.hypothesis.knob.part}" if fault.name in _WITH_PART else word


def both(one: NoteFound) -> list[Cause]:
    """What stands beside the first cause of a note."""
    return [cause for cause in one.causes[1:] if cause.probability > 0.5]


def instead(one: NoteFound) -> Named | None:
    """What could stand in place of the first cause; None where its group names that already."""
    rival = one.rival
    if rival is None or not one.causes:
        return None
    within = rival.hypothesis.fault.cause == one.causes[0].name and not alone(one.causes[0])
    return None if within else rival


def shared_place(one: NoteFound) -> str:
    """What the figures do not part from the first cause, in a sentence."""
    named = " or ".join(f"{other.hypothesis.short()} ({percent(other.probability)})" for other in one.sharing)
    return f"It may as well be that {named}: these figures do not part them, custom has its say in the order."


def first_told(one: NoteFound) -> str:
    """What is told first of a note, for a table: marked where others share its place."""
    return f"{'= ' if one.sharing else ''}{first_name(one.causes[0])}"


def first_name(cause: Cause) -> str:
    """The fault that stands for a cause, or the group, for a table."""
    return short(cause.faults[0].hypothesis.fault) if alone(cause) else group(cause.name)


def second_name(one: NoteFound) -> tuple[str, str]:
    """What sentences name second, with its probability, for a table; empty where they name none."""
    if beside := both(one):
        return f"and {first_name(beside[0])}", percent(likely(beside[0]))
    if one.sharing:
        more = f" (+{len(one.sharing) - 1})" if len(one.sharing) > 1 else ""
        return f"= {short(one.sharing[0].hypothesis.fault)}{more}", percent(one.sharing[0].probability)
    rival = instead(one)
    return (f"or {short(rival.hypothesis.fault)}", percent(rival.probability)) if rival is not None else ("", "")
