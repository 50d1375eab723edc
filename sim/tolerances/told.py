"""What tolerances do, in sentences: the answers before the tables."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

import numpy as np

from keyaction.models.units.quantity import System, format_value
from keyaction.sim.tolerances.coupled import Coupled
from keyaction.sim.tolerances.full import ENOUGH
from keyaction.sim.tolerances.stagger import SURE, kept, origins, together
from keyaction.sim.tolerances.steps import Scatter
from keyaction.sim.tolerances.tolerances import Tolerances
from keyaction.sim.tolerances.worth import WIDEST, Room

_NAMED = 3
_NOTHING = 1e-8
"""Share of the largest effect below which one is none."""
_MANY = 6
"""Names told of a longer list."""


def answers(made: Tolerances, units: System) -> Iterator[str]:
    """Every answer, the most asked first."""
    yield from _steps(made, units)
    yield from _worth(made)
    yield from (_room(made, one) for one in made.rooms)
    yield from _relaxed(made)
    yield from _stagger(made, units)


def _limit(made: Tolerances, units: System) -> str:
    line = made.line
    return f"{100 * line.limit:.3g} %" if line.figure.relative else format_value(line.limit, line.figure.unit, units)


def _steps(made: Tolerances, units: System) -> Iterator[str]:
    line, ranked = made.line, made.worths
    if not len(line.pairs):
        told = "one note has no neighbour" if len(line.notes) == 1 else "no two neighbours have the figure"
        yield f"Steps of the {line.figure.heading}: {told}, so nothing is said of steps."
        return
    count, heading = len(line.pairs), line.figure.heading
    own = int(np.sum(np.abs(line.drawn) > line.limit))
    drawn = f"{own} of its {count} steps exceed that as drawn" if own else "as drawn none exceeds that"
    largest = f"{100 * np.max(np.abs(line.drawn)):.2g} %"
    if not line.figure.relative:
        step = float(np.max(np.abs(line.drawn)))
        largest = format_value(step if step > _NOTHING * line.limit else 0.0, line.figure.unit, units)
    yield (
        f"Steps of the {heading} between neighbours against {_limit(made, units)}: {drawn} (the largest is {largest}); "
        f"with all tolerances {_share(ranked.share)} of all steps do by the closed form."
    )
    if ranked.drawn:
        yield f"Drawn {ranked.drawn.all.count} times on straight lines: {_scatter(ranked.drawn.all, count)}."
    if made.full_steps and ranked.drawn:
        yield in_full(made.full_steps, ranked.drawn.all, count)


def _share(share: float) -> str:
    return "<0.1 %" if 0.0 < share < 5e-4 else f"{100 * share:.1f} %"


def _whole(share: float) -> str:
    return f"{100 * share:.0f} %"


def _scatter(one: Scatter, count: int) -> str:
    low, middle, high = one.number
    return (
        f"{_share(one.share)} ± {100 * one.bounded_error:.2g} % of all steps, {one.expected:.1f} of {count} steps on "
        f"average; {low:.0f}, {middle:.0f}, {high:.0f} in a good, a middling and a bad instrument (5, 50, 95 %); none "
        f"in {_share(one.none)} ± {100 * one.none_error:.2g} %"
    )


def in_full(full: Scatter, line: Scatter, count: int) -> str:
    """Full draws of so many steps beside draws on straight lines, in a sentence."""
    head = f"{full.count} full draw{'s' * (full.count != 1)}, each note built and pressed anew"
    if full.count < ENOUGH:
        return (
            f"{head}: {full.expected:.1f} of {count} steps on average; too few draws to compare with the straight "
            f"lines ({ENOUGH} or more do)."
        )
    told, apart = f"{head}: {_scatter(full, count)}", full.share - line.share
    times = abs(apart) / math.hypot(full.bounded_error, line.bounded_error)
    return (
        f"{told}; the straight lines are {100 * abs(apart):.2g} points {'below' if apart > 0 else 'above'} that, "
        f"{times:.1f} standard errors."
    )


def _worth(made: Tolerances) -> Iterator[str]:
    ranked = [one for one in made.worths.ranked if one.part > 0.0]
    if not ranked:
        if len(made.line.pairs):
            yield "No tolerance makes a step: nothing is to be paid for, and nothing spared."
        return
    if all(abs(one.halved) < 5e-5 for one in ranked):
        names = ", ".join(f"{one.name} {_whole(one.part)}" for one in ranked[:_NAMED])
        yield f"No half of a tolerance takes a tenth of a point off these steps; of their variance comes from {names}."
        return
    told = ", ".join(
        f"{one.name} ({_whole(one.part)} of the variance; half of it takes off {100 * abs(one.halved):.1f} points, "
        f"twice it adds {100 * one.doubled:.1f})"
        for one in ranked[:_NAMED]
    )
    yield f"Worth paying for, in this order: {told}."


def _room(made: Tolerances, one: Room) -> str:
    name = "all tolerances together" if one.number < 0 else made.found.doubts[one.number].name
    head = f"How wide for {_share(one.allow)} of the steps at most: {name}"
    if math.isnan(one.factor):
        return f"{head} cannot do it, for without it {_share(one.without)} are felt."
    if math.isinf(one.factor):
        return f"{head} may be {WIDEST:g} times as wide and more."
    doubt = made.found.doubts[one.number] if one.number >= 0 else None
    size = ""
    if doubt and doubt.pieces and doubt.pieces[0].deviation.factor:
        size = f", each note's own {100 * one.factor * doubt.pieces[0].deviation.size:.2g} %"
    drawn = f"; drawn with that: {_share(one.drawn.share)}" if one.drawn else ""
    return f"{head} may be {one.factor:.2f} times what it is{size}{drawn}."


def _relaxed(made: Tolerances) -> Iterator[str]:
    found = made.worths.relaxed
    if not found:
        return
    idle = [k for k in found if _idle(made, k)]
    names = [made.found.doubts[k].name for k in found if k not in idle]
    yield (
        f"Money can be saved at {len(found)} of {len(made.found.doubts)} tolerances: each may be twice as wide, and "
        f"neither these steps nor any other figure here shows it ({_few(names)}); all of them twice as wide at once "
        f"make {_share(made.worths.relaxed_share)} of the steps felt in place of {_share(made.worths.share)}. What "
        "they do to speech, repetition and life is not looked at."
    )
    if idle:
        yield f"In no balance of forces, so of no effect here: {_few([made.found.doubts[k].name for k in idle])}."


def _idle(made: Tolerances, number: int) -> bool:
    """Whether a tolerance does nothing to any figure but what rounding leaves."""
    for part in (made.found.common, made.found.own):
        sizes = np.abs(np.nan_to_num(part))
        if np.any(sizes[:, number] > _NOTHING * np.max(sizes, axis=1, initial=0.0)):
            return False
    return True


def _few(names: Sequence[str]) -> str:
    return ", ".join(names[:_MANY]) + (f" and {len(names) - _MANY} others" if len(names) > _MANY else "")


def _stagger(made: Tolerances, units: System) -> Iterator[str]:
    if not made.points:
        yield "No note plucks, so nothing is said of a stagger."
        return
    order, half, set_order, set_half = together(made.points)
    common, own = (
        math.sqrt(float(np.mean([part**2 for part in parts])))
        for parts in ([one.common for one in made.points], [one.own for one in made.points])
    )
    sizes = [format_value(size, "m", units, digits=2) for size in (common, own)]
    squares = sum(one**2 + other**2 for _, one, other in origins(made.found))
    names = ", ".join(
        f"{made.found.doubts[k].name} {_whole((one**2 + other**2) / squares)}"
        for k, one, other in origins(made.found)[:_NAMED]
        if squares
    )
    yield (
        f"Where a key plucks scatters by {sizes[0]} for all notes alike and {sizes[1]} note by note (standard "
        f"deviations{'; of ' + names if names else ''})."
    )
    told = format_value(made.asked.stagger, "m", units)
    alone = kept(made.asked.stagger, math.sqrt(2.0) * own)
    needed = [format_value(way, "m", units, digits=2) for way in (alone.needed, alone.needed_half)]
    yield (
        f"A stagger of {told} between like notes of two divisions, as built: {_share(order)} keep their order and "
        f"{_share(half)} at least half of it; once each division is regulated note by note for what its notes share: "
        f"{_share(set_order)} and {_share(set_half)}. That {_whole(SURE)} keep their order then takes a stagger of "
        f"{needed[0]}; that {_whole(SURE)} keep at least half of it, one of {needed[1]}."
    )


def coupled_told(found: Sequence[Coupled], name: Callable[[int], str], stagger: float, units: System) -> Iterator[str]:
    """What a stagger of coupled plucks buys, coupler by coupler; `name` names a played note."""
    told = format_value(stagger, "m", units)
    for coupler in dict.fromkeys(one.coupler for one in found):
        ones = [one for one in found if one.coupler == coupler]
        known = [one for one in ones if not one.reason]
        for why in dict.fromkeys(one.reason for one in ones if one.reason):
            notes = [name(one.note) for one in ones if one.reason == why]
            yield f"{coupler}, {_few(notes)}: {why}."
        still = [name(one.note) for one in known if one.plays[1] == 0.0]
        if still:
            yield f"{coupler}, {_few(still)}: both plucks are {told} apart and more with no play at all."
        saved = [one.saved[0] for one in known if one.plays[1] > 0.0 and math.isfinite(one.saved[0])]
        if saved:
            ends = dict.fromkeys(format_value(force, "N", units, digits=2) for force in (min(saved), max(saved)))
            yield (
                f"{coupler}: plucks {told} apart take {' to '.join(ends)} off the peak on average under scatter, "
                "against plucks as near as they come."
            )
