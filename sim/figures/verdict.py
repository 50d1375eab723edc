"""What becomes of a note when its key is pressed and let go: told from rest and equilibria, before any motion."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

from keyaction.models.algebra.names import Name
from keyaction.models.units.quantity import format_value
from keyaction.sim.figures.limits import EMPTY, FULL, HALF, NO_FORCE

if TYPE_CHECKING:
    from keyaction.sim.figures.record import Pressed
    from keyaction.sim.motion.integrate import Floats
    from keyaction.sim.motion.sounders import Sounder


class Fate(Enum):
    """Kinds of verdict, in words."""

    SPEAKS = "speaks and falls silent"
    WEAK = "speaks weakly"
    MUTE = "does not speak"
    HANGS = "hangs"
    CIPHER = "sounds unplayed (a cipher)"
    NO_WIND = "no wind"
    HELD = "speaks, held by another hand"
    UNKNOWN = "not known"


@dataclass(frozen=True)
class Verdict:
    """What becomes of a note, and by what.

    Attributes
    ----------
    fate : Fate
    reason : str
        By what and by how much; empty where nothing is to be said.

    Examples
    --------
    >>> import keyaction as ka
    >>> told = ka.verdict(ka.NoteModel(ka.train_of(ka.read_case("demo-wood"), "C4")))
    >>> print(told)
    speaks and falls silent
    """

    fate: Fate
    reason: str = ""

    @property
    def sound(self) -> bool:
        """Whether the note speaks when it is played and falls silent when it is let go, with full wind."""
        return self.fate is Fate.SPEAKS

    def __str__(self) -> str:
        return f"{self.fate.value}: {self.reason}" if self.reason else self.fate.value


UNASKED = Verdict(Fate.UNKNOWN)
_FIGURE = re.compile(r"[-\d.]*\d")


def alike(told: Mapping[str, str]) -> list[str]:
    """What is wrong with notes, by name: a line for each fate and kind of reason, with the first note's."""
    groups: dict[str, list[str]] = {}
    for note, text in told.items():
        if text != Fate.SPEAKS.value:
            groups.setdefault(_FIGURE.sub("", text), []).append(note)
    lines = []
    for notes in groups.values():
        fate, _, reason = told[notes[0]].partition(": ")
        if len({told[note] for note in notes}) > 1 and reason:
            reason = f"{notes[0]}: {reason}"
        names = ", ".join(notes[:8]) + (f" and {len(notes) - 8} more" if len(notes) > 8 else "")
        lines.append(f"{names}: {fate}{f' ({reason})' if reason else ''}")
    return lines


def verdict(note: Pressed) -> Verdict:
    """The verdict of a note: that of its own pallet, whatever else its key moves; see `verdicts`."""
    return _of_pallet(note, note.press.sounders[0])


def verdicts(note: Pressed) -> tuple[Verdict, ...]:
    """The verdict of every pallet that the key moves, in the order of the train."""
    return tuple(_of_pallet(note, one) for one in note.press.sounders)


def _of_pallet(note: Pressed, one: Sounder) -> Verdict:
    """The verdict of one pallet.

    It sounds unplayed where the groove of the resting note holds more than 10 % of the box pressure; it hangs where
    the groove does so once the finger has left the key, because the pallet stays open; it does not speak where the
    pallet never opens, or the groove holds less than half of the box pressure with the key held at the dip force, and
    speaks weakly below 90 %. A pallet that stays off its seat by less is told with a note that falls silent.
    """
    for asked in (_windless, _held, _unplayed, _hanging, _silent):
        found = asked(note, one)
        if found:
            return found
    return Verdict(Fate.SPEAKS, _unshut(note, one) or _stopless(one))


def _windless(note: Pressed, one: Sounder) -> Verdict | None:
    if one.box_pressure > 0.0:
        return None
    gap = float(note.press.down[one.gap][0])
    return Verdict(Fate.NO_WIND, f"the pallet rests open by {format_value(gap, 'm')}" if gap > 0.0 else "")


def _held(note: Pressed, one: Sounder) -> Verdict | None:
    """Of a pallet whose own key another hand holds down: it speaks whatever this key does."""
    train = note.model.train
    keys = [part.name for part in train.parts[: [part.name for part in train.parts].index(one.pallet)]]
    key = next(name for name in reversed(keys) if train.part(name).role == "key")
    force = train.parameters.get(Name(key, "f_held"))
    if force is None or force.value <= 0.0:
        return None
    return Verdict(Fate.HELD, f"{key} is held by {format_value(force.value, 'N')}")


def _unplayed(note: Pressed, one: Sounder) -> Verdict | None:
    down = note.press.down
    gap, share = float(down[one.gap][0]), float(down[one.pressure][0]) / one.box_pressure
    if share <= EMPTY:
        return None
    held = f"the groove holds {100 * share:.0f} % of the wind with the key at rest"
    if gap <= 0.0:
        return Verdict(Fate.CIPHER, f"wind leaks past the shut pallet: {held}")
    slack = ((name, figure.value) for name, figure in note.model.train.parameters.items() if name.what == "slack")
    tight = [name.part for name, value in slack if value < 0.0]
    by = f"drawn up by {', '.join(tight)}, which is too tight" if tight else "pulled by the weights that hang on it"
    return Verdict(Fate.CIPHER, f"the pallet stands {format_value(gap, 'm')} open, {by}; {held}")


def _unshut(note: Pressed, one: Sounder) -> str:
    """Of a pallet that stays off its seat, but by so little that the groove hardly fills."""
    down, up = note.press.down, note.press.up
    for course, at, told in ((down, 0, "the pallet does not shut: it rests"), (up, -1, "let go, the pallet stays")):
        gap, share = float(course[one.gap][at]), float(course[one.pressure][at]) / one.box_pressure
        if gap > 0.0:
            return f"{told} {format_value(gap, 'm')} open, and the groove holds {100 * share:.1f} % of the wind"
    return ""


def _stopless(one: Sounder) -> str:
    return "" if one.feet > 0.0 else "no stop is drawn, so no pipe sounds"


def _hanging(note: Pressed, one: Sounder) -> Verdict | None:
    up = note.press.up
    gap = float(up[one.gap][-1])
    if gap <= 0.0 or float(up[one.pressure][-1]) <= EMPTY * one.box_pressure:
        return None
    left = f"let go, the pallet stays {format_value(gap, 'm')} open"
    carried, whole = _rubbing(note, up.states[-1])
    if not whole or sum(carried.values()) < NO_FORCE:
        return Verdict(Fate.HANGS, f"{left}: spring and wind do not close it")
    worst = max(whole, key=lambda part: whole[part])
    force, total = (format_value(one, "N") for one in (whole[worst], sum(whole.values())))
    lifts = format_value(sum(carried.values()), "N")
    return Verdict(
        Fate.HANGS, f"{left}: held by the friction of {worst} ({force} of {total} at the key, which lifts with {lifts})"
    )


def _rubbing(note: Pressed, y: Floats) -> tuple[dict[str, float], dict[str, float]]:
    """Of each part the friction that acts in a state, and that which it can give, N at the key front."""
    balance = note.press.up.balance
    bodies = balance.kernel.bodies
    carried: dict[str, float] = {}
    whole: dict[str, float] = {}
    for owner, slip, most in zip(balance.owner, y[balance.slips], balance.friction(y), strict=True):
        part = bodies[owner].part
        carried[part] = carried.get(part, 0.0) + abs(slip) * most
        whole[part] = whole.get(part, 0.0) + most
    return carried, whole


def _silent(note: Pressed, one: Sounder) -> Verdict | None:
    down = note.press.down
    if not np.any(down[one.gap] > 0.0):
        short = -float(np.max(down[one.gap]))
        dip = format_value(float(down.travel[-1]), "m")
        return Verdict(Fate.MUTE, f"pressed {dip} down, the key leaves the pallet {format_value(short, 'm')} short")
    share = float(down[one.pressure][-1]) / one.box_pressure
    if share >= FULL:
        return None
    held = f"the groove reaches {100 * share:.0f} % of the wind with the key held down"
    return Verdict(Fate.WEAK if share >= HALF else Fate.MUTE, held)
