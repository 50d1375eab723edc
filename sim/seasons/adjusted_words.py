"""What is advised for a note, in sentences."""

from __future__ import annotations

import math

from keyaction.models.climate.year import DAY, Year
from keyaction.sim.seasons.adjusted_day import Said, does, for_today, left, serves, span, still, through
from keyaction.sim.seasons.advice import Advice, Common, First, Limits, Opposite
from keyaction.sim.seasons.season import LABELS

_RIGHT = 1e-6
_QUARTERS = {1: "a quarter turn", 2: "half a turn", 3: "three quarters of a turn", 4: "one turn"}
_BACKWARDS = {"up": "down", "down": "up", "back": "front", "front": "back", "right": "left", "left": "right"}
_BALANCED, _HUNG = ("lost_motion", "steady_lift"), ("level", "steady_lift")
"""What is told of the slack end: a balanced key gains play, a hung one sinks."""
_OF_HUNG = "A hung key: a turn moves its level; only the felt on which it comes to rest above gives it margin."
_NO_TURN = (
    "No turn of a nut that was tried makes it speak again, or no note of the division speaks as regulated, so that no "
    "lift to come back to is known: look for what is broken, unhooked or out of line."
)
_MOST = {"play": "too much play", "lift": "too little lift"}
_TIGHT = ("margin",)
"""What is told of the dry end where a run is made tighter."""
_FAULTS = {
    "play": "more play than the {play} of common practice",
    "lift": "a lift below {lift:.0f}\u00a0% of that as regulated (assumed)",
    "level": "a key that stands out among its neighbours by more than {level} (common practice)",
    "margin": "a margin below the {keep} that should be kept, so that it sounds or nearly does",
}


def sentences(advice: Advice, year: Year, m: Said) -> list[str]:
    """The advice in sentences, the verdict first; `m` says lengths."""
    lines = [_verdict(advice, year, m), _first(advice, year, m), _alike_nuts(advice), _opposite(advice, year, m)]
    lines += [_alike(advice)] if advice.of > 1 else []
    lines += [_apart(advice, m)] if advice.alone and advice.lacks else []
    lines += [_all_year(advice, year, m), _mute_elsewhere(advice, year)]
    return [line for line in [*lines, _OF_HUNG if advice.lacks and not advice.balanced else ""] if line]


def _verdict(advice: Advice, year: Year, m: Said) -> str:
    day = year.when(advice.day)
    if advice.sounds:
        return f"{advice.name} sounds unplayed on {day}: its run is {m(-advice.margin)} too tight, counted at the key."
    if advice.mute:
        return f"{advice.name} is mute on {day}: pressed, its key does not open the pallet; its run is too slack."
    if advice.lacks:
        keep = m(advice.limits.keep) + " (assumed)" * (advice.limits.keep == Limits().keep)
        return f"{advice.name} has a margin of {m(advice.margin)} at the key on {day}; {keep} should be kept."
    if math.isinf(advice.margin):
        return f"{advice.name} does not come to sound within what was looked at."
    return f"{advice.name} has margin enough on {day}: {m(advice.margin)} at the key."


def _first(advice: Advice, year: Year, m: Said) -> str:
    """What is to be done first, and where that is to wait, what else."""
    if advice.first != "wait":
        return _step(advice, advice.first, year, m, "First")
    days = math.ceil(advice.returns / DAY)
    return (
        f"First: wait. {advice.spell}; the margin is back by itself in {days} day{'s' * (days != 1)}"
        f"{still(advice, 0.0, year, m) if advice.sounds else ''}. Bring the air back into the guidance and turn "
        f"nothing. {_step(advice, advice.otherwise, year, m, 'If it cannot wait')}"
    )


def _step(advice: Advice, step: First, year: Year, m: Said, word: str) -> str:
    if step == "rail":
        return (
            f"{word}: the rail, {advice.lacking} of {advice.of} notes lacking margin together. {_rail(advice, m)} "
            f"{_own_nut(advice, 'Until then')}"
        ).rstrip()
    if step == "common":
        return (
            f"{word}: the common adjuster, before any single nut{_common(advice, year, m)} {_own_nut(advice, 'Or')}"
        ).rstrip()
    if step == "nut" and advice.joints:
        return f"{word}: its own nut, {_nut(advice, year, m)}"
    if step == "material" and advice.mute:
        return _NO_TURN
    if step == "material":
        told = f"No turn of a nut serves {through(year)}. {_other_means(advice, m)}"
        return f"{told} As a makeshift {_nut(advice, year, m)}"
    if advice.window.most < -_RIGHT and advice.joints:
        nut, most = advice.joints[0], _MOST[advice.window.by]
        return f"For this day nothing is to be turned; its slackest has {most}: {nut.rod}, {turns(nut.year)}, for that."
    return "Nothing is to be turned."


def _common(advice: Advice, year: Year, m: Said) -> str:
    """What the common place does for this day and for the year; one way where that serves both."""
    one = advice.commons[0]
    undoes = f"{_way(one, one.undoes, m)} would undo what this day did"
    looser, today = -one.place.gains.get(advice.note, 0.0) * one.year, advice.today(one)
    if serves(advice, looser) or math.isnan(today):
        return (
            f": {moved(one, one.year, m)}, which {does(advice)} on this day and is least bad over the {span(year)}"
            f"{still(advice, looser, year, m)}; {undoes}. {_outside(one, year)}"
        )
    return (
        f". {for_today(advice)}: {moved(one, today, m)}{left(advice, one, today)}; {undoes}. For the whole "
        f"{span(year)}: {_way(one, one.year, m)}, which is least bad{still(advice, looser, year, m)}. "
        f"{_outside(one, year)}"
    )


def _nut(advice: Advice, year: Year, m: Said) -> str:
    nut = advice.joints[0]
    ends = f"{turns(nut.clears)} would end the sounding on this day, {turns(nut.keeps)} keep the margin"
    again = f"{turns(-advice.speaks / nut.turn)} make it speak again"
    if serves(advice, advice.window.middle):
        return f"{nut.rod}, {turns(nut.year)}: {does(advice)} on this day and is least bad over the {span(year)}" + (
            f"; {again}." if advice.mute else f"; {ends}."
        )
    today = again if advice.mute else ends
    return (
        f"{nut.rod}. {for_today(advice)}: {today}. For the whole {span(year)}: {turns(nut.year)}, which is least bad"
        f"{still(advice, advice.window.middle, year, m)}."
    )


def _own_nut(advice: Advice, word: str) -> str:
    """What its own nut would do for this day in place of a common adjuster."""
    if not advice.joints or math.isnan(advice.looser):
        return ""
    nut = advice.joints[0]
    return f"{word}, of this note alone: {nut.rod}, {turns(advice.looser / nut.turn)}, for this day."


def _alike_nuts(advice: Advice) -> str:
    """Which nut to take where several do as much."""
    if not advice.looser or not advice.joints or math.isnan(advice.looser):
        return ""
    nut = advice.joints[0]
    alike = sum(math.isclose(one.turn, nut.turn, rel_tol=1e-4) for one in advice.joints)
    why = "where the case writes play" if nut.written else "the one nearest the key (common practice)"
    return f"{alike} of its nuts do as much a turn: take that of {nut.rod}, {why}." if alike > 1 else ""


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


def _outside(one: Common, year: Year) -> str:
    told = []
    if one.outside:
        told.append(f"{len(one.outside)} of {len(one.after)} notes then still want a turn of their own nut")
    if one.shut:
        told.append(f"{len(one.shut)} move more over the {span(year)} than any turn allows")
    return f"{'; '.join(told)}." if told else f"It serves every note {through(year)}."


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
    """What a cure that is done now leaves at the other end of the climate."""
    if not advice.looser or math.isnan(advice.looser):
        return ""
    other, day = advice.opposite, year.when(advice.opposite.day)
    names = _TIGHT if advice.mute else _BALANCED if advice.balanced else _HUNG
    figures = ", ".join(_change(other, name, m) for name in names)
    so = (
        "tighter now until it speaks, at the tightest"
        if advice.mute
        else "now so far that it keeps its margin, at the slackest"
    )
    faults = [_fault(advice, name, m) for name in other.faults]
    word = "That leaves the opposite fault" if not advice.mute or "margin" in other.faults else "It then still has"
    after = f"{word}: {'; '.join(faults)}." if faults else "It is well there."
    return f"Turned {so}, {day}: {figures}. {after}"


def _mute_elsewhere(advice: Advice, year: Year) -> str:
    if advice.mute or advice.mute_on < 0:
        return ""
    day = year.when(advice.mute_on)
    return f"Pressed, it does not open its pallet from {day} on, for a time: `--day` with a day then tells what to do."


def _change(other: Opposite, name: str, m: Said) -> str:
    return f"{LABELS[name][1]} {_or_none(other.now[name], m)} to {_or_none(other.cleared[name], m)}"


def _or_none(si: float, m: Said) -> str:
    return m(si) if math.isfinite(si) else "more than was looked at" if si > 0.0 else "none"


def _fault(advice: Advice, name: str, m: Said) -> str:
    limits = advice.limits
    play = m(limits.play(advice.balanced)[1])
    return _FAULTS[name].format(play=play, lift=100 * limits.lift, level=m(limits.level), keep=m(limits.keep))


def _all_year(advice: Advice, year: Year, m: Said) -> str:
    own = advice.window
    if own.open or advice.first == "material":
        faults = [_fault(advice, name, m) for name in advice.opposite.year_faults] if own.open and advice.looser else []
        return f"The turn that is least bad over the {span(year)} still leaves {'; '.join(faults)}." if faults else ""
    return f"No turn serves {through(year)}. {_other_means(advice, m)}"


def _other_means(advice: Advice, m: Said) -> str:
    own = advice.window
    what = _MOST.get(own.by, "the opposite fault")
    return (
        f"From its tightest to its slackest day the run moves {m(own.least - own.most)} more at the key than there is "
        f"room for between sounding and {what}: a floating rail, or other materials of rods and members "
        "(`keyaction seasons --compare`), not a nut."
    )
