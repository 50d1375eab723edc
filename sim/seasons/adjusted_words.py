"""What is advised for a note, in sentences."""

from __future__ import annotations

import math
from collections.abc import Callable

from keyaction.models.climate.year import DAY, Year
from keyaction.sim.seasons.advice import Advice, Common, First, Limits, Opposite
from keyaction.sim.seasons.season import LABELS

Said = Callable[[float], str]
"""How a length (m) is said to people."""
_RIGHT = 1e-6
_QUARTERS = {1: "a quarter turn", 2: "half a turn", 3: "three quarters of a turn", 4: "one turn"}
_BACKWARDS = {"up": "down", "down": "up", "back": "front", "front": "back", "right": "left", "left": "right"}
_BALANCED, _HUNG = ("lost_motion", "steady_lift"), ("level", "steady_lift")
"""What is told of the other end of the year: a balanced key gains play, a hung one sinks."""
_OF_HUNG = "A hung key: a turn moves its level; only the felt on which it comes to rest above gives it margin."
_FAULTS = {
    "play": "more play than the {play} of common practice",
    "lift": "a lift below {lift:.0f}\u00a0% of that as regulated (assumed)",
    "level": "a key that stands out among its neighbours by more than {level} (common practice)",
}


def sentences(advice: Advice, year: Year, m: Said) -> list[str]:
    """The advice in sentences, the verdict first; `m` says lengths."""
    lines = [_verdict(advice, year, m), _first(advice, m)]
    lines += [_alike(advice)] if advice.of > 1 else []
    lines += [_apart(advice, m)] if advice.alone and advice.lacks else []
    lines += [_opposite(advice, year, m), _all_year(advice, m)]
    return [line for line in [*lines, "" if advice.balanced else _OF_HUNG] if line]


def _verdict(advice: Advice, year: Year, m: Said) -> str:
    day = year.when(advice.day)
    if advice.sounds:
        return f"{advice.name} sounds unplayed on {day}: its run is {m(-advice.margin)} too tight, counted at the key."
    if advice.lacks:
        keep = m(advice.limits.keep) + " (assumed)" * (advice.limits.keep == Limits().keep)
        return f"{advice.name} has a margin of {m(advice.margin)} at the key on {day}; {keep} should be kept."
    if math.isinf(advice.margin):
        return f"{advice.name} does not come to sound within what was looked at."
    return f"{advice.name} has margin enough on {day}: {m(advice.margin)} at the key."


def _first(advice: Advice, m: Said) -> str:
    """What is to be done first, and where that is to wait, what else."""
    if advice.first != "wait":
        return _step(advice, advice.first, m, "First")
    days = math.ceil(advice.returns / DAY)
    return (
        f"First: wait. {advice.spell}; the margin is back by itself in {days} day{'s' * (days != 1)}. Bring the air "
        f"back into the guidance and turn nothing. {_step(advice, advice.otherwise, m, 'If it cannot wait')}"
    )


def _step(advice: Advice, step: First, m: Said, word: str) -> str:
    if step == "rail":
        return f"{word}: the rail, {advice.lacking} of {advice.of} notes lacking margin together. {_rail(advice, m)}"
    if step == "common":
        one = advice.commons[0]
        return (
            f"{word}: the common adjuster, before any single nut: {moved(one, one.year, m)}, which is least bad over "
            f"the year; {_way(one, one.undoes, m)} would undo what this day did. {_outside(one)}"
        )
    if step == "nut" and advice.joints:
        return f"{word}: its own nut, {_nut(advice)}"
    if step == "material":
        return f"No turn of a nut serves all year. {_other_means(advice, m)} As a makeshift {_nut(advice)}"
    return "Nothing is to be turned."


def _nut(advice: Advice) -> str:
    nut = advice.joints[0]
    return (
        f"{nut.rod}, {turns(nut.year)}: least bad over the year; {turns(nut.clears)} would end the sounding on this "
        f"day, {turns(nut.keeps)} keep the margin."
    )


def moved(one: Common, by: float, m: Said) -> str:
    """A move of a common place in words: "the rail 0.8 mm up"."""
    return f"{'the ' * (one.place.kind == 'rail')}{one.place.name} {_way(one, by, m)}"


def _way(one: Common, by: float, m: Said) -> str:
    towards = one.place.towards if by >= 0.0 else _BACKWARDS[one.place.towards]
    return f"{m(abs(by))} {'' if towards in ('up', 'down') else 'to the '}{towards}"


def turns(number: float) -> str:
    """Turns of a nut in words, to the next quarter away from 0: looser above 0."""
    quarters = math.ceil(abs(number) * 4 - _RIGHT) if math.isfinite(number) else 0
    if quarters == 0:
        return "no turn"
    many = _QUARTERS.get(quarters, f"{quarters / 4:g} turns")
    return f"{many} {'looser' if number > 0 else 'tighter'}"


def _outside(one: Common) -> str:
    told = []
    if one.outside:
        told.append(f"{len(one.outside)} of {len(one.after)} notes then still want a turn of their own nut")
    if one.shut:
        told.append(f"{len(one.shut)} move more over the year than any turn allows")
    return f"{'; '.join(told)}." if told else "It serves every note all year."


def _rail(advice: Advice, m: Said) -> str:
    further = m(abs(advice.further))
    if advice.rail == "stop":
        others = ", ".join(moved(one, one.undoes, m) for one in advice.commons[:1])
        back = f"or bring it off by a common place ({others}), not by the nuts" if others else "and turn no nuts"
        return f"It is driven back to its end stop and would go {further} further: give it room there, {back}."
    if advice.rail == "friction":
        return f"Its guides hold it within a band of friction wider than the {further} that it would go: ease them."
    return "It is free and stands where its load puts it: lighten the load (`keyaction rail` says what is enough)."


def _alike(advice: Advice) -> str:
    if math.isnan(advice.share):
        return ""
    return (
        f"The mean explains {100 * advice.share:.0f}\u00a0% of what the {advice.of} notes have moved on this day; "
        f"{advice.lacking} of them lack{'s' * (advice.lacking == 1)} margin."
    )


def _apart(advice: Advice, m: Said) -> str:
    return (
        f"It stands alone: it has {m(advice.over_tight)} less margin than the median of its neighbours, "
        f"{m(advice.moved)} of which the season did; the rest is its own regulation, over-tight against theirs."
    )


def _opposite(advice: Advice, year: Year, m: Said) -> str:
    """What a cure that is done now leaves at the other end of the year."""
    if not advice.lacks:
        return ""
    other, day = advice.opposite, year.when(advice.opposite.day)
    figures = ", ".join(_change(other, name, m) for name in (_BALANCED if advice.balanced else _HUNG))
    found = f"Turned now so far that it keeps its margin, at the slackest, {day}: {figures}"
    faults = [_fault(advice, name, m) for name in other.faults]
    return f"{found}. {'That leaves the opposite fault: ' + '; '.join(faults) if faults else 'It is well there'}."


def _change(other: Opposite, name: str, m: Said) -> str:
    return f"{LABELS[name][1]} {_or_none(other.now[name], m)} to {_or_none(other.cleared[name], m)}"


def _or_none(si: float, m: Said) -> str:
    return m(si) if math.isfinite(si) else "none"


def _fault(advice: Advice, name: str, m: Said) -> str:
    limits = advice.limits
    return _FAULTS[name].format(play=m(limits.play(advice.balanced)[1]), lift=100 * limits.lift, level=m(limits.level))


def _all_year(advice: Advice, m: Said) -> str:
    own = advice.window
    if own.open or advice.first == "material":
        faults = [_fault(advice, name, m) for name in advice.opposite.year_faults] if own.open and advice.lacks else []
        return f"The turn that is least bad over the year still leaves {'; '.join(faults)}." if faults else ""
    return f"No turn serves all year. {_other_means(advice, m)}"


def _other_means(advice: Advice, m: Said) -> str:
    own = advice.window
    what = {"play": "too much play", "lift": "too little lift"}.get(own.by, "the opposite fault")
    return (
        f"From its tightest to its slackest day the run moves {m(own.least - own.most)} more at the key than there is "
        f"room for between sounding and {what}: a floating rail, or other materials of rods and members "
        "(`keyaction seasons --compare`), not a nut."
    )
