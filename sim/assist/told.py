"""What the ways to relieve a pallet save and cost, in sentences."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence

from keyaction.models.notes import Naming, note_name
from keyaction.models.units.quantity import System, convert, format_value
from keyaction.sim.assist.assisted import Assisted
from keyaction.sim.assist.versions import AS_IS

LITTLE = 1 / 3
"""Share of the pluck below which wind makes little of it (assumed)."""
_MANY = 6


def said(found: Sequence[Assisted], naming: Naming, units: System) -> list[str]:
    """All that is to be said of a division's notes, a sentence or two each."""
    by_note = {one.note: one for one in found if one.version == AS_IS}
    names = list(dict.fromkeys(one.version for one in found if one.version != AS_IS))
    own = list(by_note.values())
    lines = [*as_it_is(own, naming, units)]
    for name in names:
        pairs = [(by_note[one.note], one) for one in found if one.version == name and one.train]
        lines += [line for line in (sizes(pairs, units), bargain(pairs, units), left(pairs, units)) if line]
    if whole := answer(by_note, found, units):
        lines.append(whole)
    return lines + odd(found, naming)


def comfortable(one: Assisted) -> float | None:
    """The force up to which its key is comfortable, N; None where none is known."""
    return getattr(one.train.key.part, "comfortable", None) if one.train else None


def answer(own: Mapping[int, Assisted], found: Sequence[Assisted], units: System) -> str:
    """Whether any relief is needed, and which of the ways tried are enough at every note."""
    there = [one for one in own.values() if math.isfinite(one["highest"])]
    most = comfortable(there[0]) if there else None
    if most is None:
        return ""
    if all(one["highest"] <= most for one in there):
        return "As it is no relief is needed for the touch."
    enough: dict[str, list[Assisted]] = {}
    for one in found:
        if one.version != AS_IS:
            enough.setdefault(one.version, []).append(one)
    usual = format_value(most, "N", units)
    names = [name for name, notes in enough.items() if all(_light(one, most) for one in notes)]
    if not names:
        return f"None of the ways tried brings every note to {usual} or less and sound." if enough else ""
    soon = min(names, key=lambda name: max(_known(one["speech_delay"], math.inf) for one in enough[name]))
    fast = max(names, key=lambda name: min(_known(one["repetition_rate"], 0.0) for one in enough[name]))
    begun = f"Enough at every note ({usual} or less, sound): {', '.join(names)}"
    if len(names) == 1:
        return f"{begun}."
    return f"{begun}; of these {soon} speaks soonest and {fast} repeats fastest, at the worst note of each."


def _light(one: Assisted, most: float) -> bool:
    return one.plays and one.verdict.sound and one["highest"] <= most


def _known(value: float, other: float) -> float:
    return value if math.isfinite(value) else other


def as_it_is(own: Sequence[Assisted], naming: Naming, units: System) -> list[str]:
    """How heavy the train is, and what makes it so."""
    lines = []
    if heavy := left([(one, one) for one in own], units):
        lines.append(heavy)
    known = [one for one in own if math.isfinite(one["wind"])]
    if known:
        rest = [1 - one["wind"] for one in known]
        lines.append(
            f"Wind makes {_percents(one['wind'] for one in known)} of the pluck as it is; spring, weights and friction "
            f"{_percents(rest)}, of which friction is {_percents(one['friction'] for one in known)} of the pluck."
        )
    little = [note_name(one.note, naming) for one in known if one["wind"] < LITTLE]
    if little:
        lines.append(
            f"{_few(little)}: wind makes less than a third of the pluck, so relief from it is of little use there; a "
            "weaker spring (tune), lighter parts or less friction come first."
        )
    return lines


def sizes(pairs: Sequence[tuple[Assisted, Assisted]], units: System) -> str:
    """The sizes that the program gave a version."""
    if not pairs:
        return ""
    told = []
    for i, size in enumerate(pairs[0][1].sizes):
        values = [one.sizes[i].value for _, one in pairs]
        told.append(f"{size.words.format(_range(values, size.unit, units))} ({size.why})")
    return f"{pairs[0][1].version}: {'; '.join(told)}."


def bargain(pairs: Sequence[tuple[Assisted, Assisted]], units: System) -> str:
    """What a version saves at the finger, and what it costs in delay and repetition."""
    both = [(own, one) for own, one in pairs if math.isfinite(own["highest"]) and one.plays and own["highest"] > 0.0]
    if not both:
        return ""
    saved = [own["highest"] - one["highest"] for own, one in both]
    shares = [less / own["highest"] for less, (own, _) in zip(saved, both, strict=True)]
    told = [f"saves {_range(saved, 'N', units)} ({_percents(shares)}) of the highest force"]
    for words, name, unit in (
        ("delay", "speech_delay", "s"),
        ("release", "release_delay", "s"),
        ("repetition", "repetition_rate", "Hz"),
    ):
        more = [one[name] - own[name] for own, one in both if math.isfinite(one[name] - own[name])]
        if more:
            told.append(f"{words} {_range(more, unit, units, signed=True)}")
    return f"{pairs[0][1].version}: {'; '.join(told)}."


def left(pairs: Sequence[tuple[Assisted, Assisted]], units: System) -> str:
    """Whether what is left at the finger is heavy."""
    there = [one for _, one in pairs if one.train and math.isfinite(one["highest"]) and one["highest"] > 0.0]
    if not there:
        return ""
    forces, most = [one["highest"] for one in there], comfortable(there[0])
    begun = f"{there[0].version}: {_range(forces, 'N', units)} at the key"
    if most is None:
        return f"{begun}; what is heavy for a foot is not known."
    usual, over = format_value(most, "N", units), sum(force > most for force in forces)
    if not over:
        return f"{begun}: not heavy (up to {usual} is comfortable, common practice)."
    which = "" if over == len(forces) else f" at {over} of {len(forces)} notes"
    return f"{begun}: heavy{which} (more than {usual}, common practice)."


def odd(found: Sequence[Assisted], naming: Naming) -> list[str]:
    """Versions that there are not, that could not be played, or that are not sound; alike ones together."""
    notes: dict[str, list[str]] = {}
    for one in found:
        text = ""
        if one.train is None:
            text = f"no {one.version}: {one.why}"
        elif one.why:
            text = f"{one.version}, not played: {one.why}"
        elif not one.verdict.sound or one.verdict.reason:
            text = f"{one.version}: {one.verdict}"
        if text:
            notes.setdefault(text, []).append(note_name(one.note, naming))
    return [f"{_few(names)}: {text}." for text, names in notes.items()]


def _few(names: Sequence[str]) -> str:
    return ", ".join(names[:_MANY]) + (f" and {len(names) - _MANY} others" if len(names) > _MANY else "")


def _percents(shares: Iterable[float]) -> str:
    told = [100 * share for share in shares if math.isfinite(share)]
    return f"{_ends(min(told), max(told), lambda share: f'{share:.0f}')} %" if told else "an unknown part"


def _range(values: Sequence[float], unit: str, units: System, signed: bool = False) -> str:
    """From the least to the greatest, with the unit; `signed` says more or less."""

    def shown(si: float) -> str:
        if not signed:
            return format_value(si, unit, units)
        number, label = convert(si, unit, units)
        return f"{float(number):+.{1 if units == 'trade' else 4}f} {label}"

    return _ends(min(values), max(values), shown)


def _ends(low: float, high: float, shown: Callable[[float], str]) -> str:
    ends = shown(low), shown(high)
    return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"
