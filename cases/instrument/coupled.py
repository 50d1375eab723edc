"""A coupled note: the trains of all divisions that one key moves, and the couplers between them, as one tree."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from keyaction.cases.action.case import Case
from keyaction.cases.action.trains import one_note
from keyaction.cases.fields.compass import Compass
from keyaction.cases.instrument.coupler import Coupler, slug
from keyaction.cases.instrument.drawn import CouplerProblem, drawn_couplers
from keyaction.cases.instrument.followed import Followed, Reached, Spot, follow, nothing_told
from keyaction.cases.instrument.instrument import Instrument
from keyaction.cases.instrument.joined import named
from keyaction.cases.text.near import hint
from keyaction.models.algebra.names import LONGEST
from keyaction.models.fields.values import Given
from keyaction.models.materials.library import Library
from keyaction.models.notes import NoteProblem
from keyaction.models.train.given import AnyPart
from keyaction.models.train.structure import Outlet
from keyaction.models.train.train import Train, build_train

HELD = 5.0
"""N: with which another hand holds a key's front down (assumed: as a finger that rests on a key at its bottom)."""
_HELD_FIELD, _HELD_ORIGIN = "held", "another hand"


@dataclass(frozen=True)
class Sounding:
    """A note of a division that sounds.

    Parameters
    ----------
    division : str
    note : int
        C4 = 60.
    prefix : str
        How the names of its parts begin, before a hyphen; empty for the played one.
    by : tuple of str
        The couplers that reach it.
    """

    division: str
    note: int
    prefix: str = ""
    by: tuple[str, ...] = ()

    def part(self, name: str) -> str:
        """How a part of the division's case is called in the coupled train."""
        return f"{self.prefix}-{name}" if self.prefix else name


@dataclass(frozen=True)
class CoupledNote:
    """What `build_train` takes to make the train of a coupled note.

    Parameters
    ----------
    division, note
        What is played.
    parts : tuple
        Of the played train, then of every driven one, then the couplers.
    library : Library
        Materials of the played division.
    libraries : mapping of str to Library
        By part, where they are others.
    soundings : tuple of Sounding
        The played one first, then in the order in which couplers reach them.
    couples_nothing : tuple of str
        A sentence for every coupler that reaches no key from here.
    lacking : tuple of (Coupler, int)
        These couplers, each with the note at its played end.
    """

    division: str
    note: int
    parts: tuple[AnyPart, ...]
    library: Library
    libraries: Mapping[str, Library]
    soundings: tuple[Sounding, ...]
    couples_nothing: tuple[str, ...]
    lacking: tuple[tuple[Coupler, int], ...] = ()

    def train(self) -> Train:
        """The train of it.

        Raises
        ------
        keyaction.TrainProblem
            With every missing field, naming part and field.
        """
        return build_train(self.parts, self.library, self.libraries)


def coupled_train(
    instrument: Instrument, division: str, note: int | str, drawn: str | Iterable[str], held: str | Iterable[str] = ()
) -> Train:
    """The train of a coupled note: every part that the key moves, with its figures.

    Parameters
    ----------
    instrument : Instrument
    division : str
        The one that is played.
    note : int or str
        Its number (C4 = 60) or its name as the instrument writes names.
    drawn : str or iterable of str
        The couplers, as `drawn_couplers` takes them.
    held : str or iterable of str
        Divisions whose driven key another hand holds down.

    Returns
    -------
    Train

    Raises
    ------
    keyaction.CouplerProblem
        When couplers or held divisions are named that there are not, or couplers go round in a loop.
    keyaction.NoteProblem
        When there is no such division or note.
    keyaction.TrainProblem
        With every missing field, naming part and field.

    Examples
    --------
    >>> import keyaction as ka
    >>> train = ka.coupled_train(ka.read_instrument("demo-instrument"), "behind", "C4", "II/I")
    >>> [part.name for part in train.parts if part.role in ("key", "coupler")]
    ['key', 'high-key', 'coupler-ii-i']
    """
    return coupled_note(instrument, division, note, drawn, held).train()


def coupled_note(
    instrument: Instrument, division: str, note: int | str, drawn: str | Iterable[str], held: str | Iterable[str] = ()
) -> CoupledNote:
    """The parts of a coupled note; parameters and errors as of `coupled_train`, without its `TrainProblem`."""
    names = drawn_couplers(instrument, drawn)
    return joined_note(instrument, division, note, names, held_divisions(instrument, names, held))


def joined_note(
    instrument: Instrument, division: str, note: int | str, drawn: Sequence[str], held: Sequence[str] = ()
) -> CoupledNote:
    """As `coupled_note`, of couplers and divisions that have been looked at: for many notes, one after the other."""
    played, case = _played(instrument, division, note)
    found = follow(instrument, [instrument.couplers[name] for name in drawn], played)
    soundings = _prefixed(instrument, played, found.reached)
    parts: list[AnyPart] = []
    libraries: dict[str, Library] = {}
    for (name, _), one in soundings.items():
        own = instrument.divisions[name]
        made = _train(own, one, held=name in held and bool(one.prefix))
        parts += made
        if own.library is not case.library:
            libraries |= {part[1]: own.library for part in made}
    couplers = _couplers(found, soundings, [part[1] for part in parts])
    parts += couplers
    libraries |= {part[1]: instrument.library for part in couplers}
    nothing = tuple(nothing_told(instrument, one, [note]) for one, note in found.lacking)
    shown = tuple(soundings.values())
    return CoupledNote(*played, tuple(parts), case.library, libraries, shown, nothing, tuple(found.lacking))


def held_divisions(instrument: Instrument, drawn: Sequence[str], held: str | Iterable[str]) -> tuple[str, ...]:
    """The divisions whose driven keys another hand holds down.

    Raises
    ------
    CouplerProblem
        With every one that there is not, or that no drawn coupler moves.
    """
    words = held.split(",") if isinstance(held, str) else list(held)
    driven = {instrument.couplers[name].driven for name in drawn}
    found, wrong = list[str](), list[str]()
    for word in filter(None, map(str.strip, words)):
        name = named(word, instrument.divisions)
        if name is None:
            wrong.append(f"held: no division '{word}'{hint(word, instrument.divisions)}")
        elif name not in driven:
            moved = [one for one in instrument.divisions if one in driven]
            wrong.append(f"held: no drawn coupler moves '{name}'; moved: {', '.join(moved) or 'none'}")
        else:
            found.append(name)
    if wrong:
        raise CouplerProblem(list(dict.fromkeys(wrong)))
    return tuple(name for name in instrument.divisions if name in found)


def _played(instrument: Instrument, division: str, note: int | str) -> tuple[tuple[str, int], Case]:
    name = named(division, instrument.divisions)
    if name is None:
        raise NoteProblem(f"no division '{division}'{hint(division, instrument.divisions)}")
    case = instrument.divisions[name]
    number = one_note(case, note) if isinstance(note, str) else note
    if number not in case.compass:
        compass = Compass(case.compass, case.naming)
        ends = f"{compass.name(case.compass[0])} to {compass.name(case.compass[-1])}"
        raise NoteProblem(f"note {number}: '{name}' has none of that number; its compass is {ends}")
    return (name, number), case


def _prefixed(instrument: Instrument, played: tuple[str, int], reached: Mapping[Spot, Reached]) -> dict[Spot, Sounding]:
    """The soundings with prefixes that keep the names of all parts apart and short enough."""
    taken: set[str] = set()
    found: dict[Spot, Sounding] = {}
    numbers = {name: number for number, name in enumerate(instrument.divisions, 1)}
    for place, one in reached.items():
        names = [part.name for part in instrument.divisions[place[0]].parts]
        prefix = ""
        if place != (played[0], 0):
            end = _suffix(place[1])
            ways = [f"{place[0].lower()}{end}", *(f"d{numbers[place[0]]}{'x' * more}{end}" for more in range(9))]
            prefix = next(way for way in ways if _free(way, names, taken))
        found[place] = Sounding(place[0], one.note, prefix, tuple(one.by))
        taken |= {found[place].part(name) for name in names}
    return found


def _suffix(shift: int) -> str:
    """What tells a division at another pitch from the same division at unison."""
    return f"-{'up' if shift > 0 else 'down'}-{abs(shift)}" if shift else ""


def _free(prefix: str, names: Sequence[str], taken: set[str]) -> bool:
    made = [f"{prefix}-{name}" for name in names]
    return all(len(name) <= LONGEST and name not in taken for name in made)


def _train(case: Case, one: Sounding, held: bool) -> list[AnyPart]:
    """The parts of a sounding's train."""
    found: list[AnyPart] = []
    for spec in case.parts:
        values = case.values(one.note, spec)
        if held and spec.part.role == "key":
            values[_HELD_FIELD] = Given(HELD, _HELD_ORIGIN)
        found.append((spec.part, one.part(spec.name), values))
    return found


def _couplers(found: Followed, soundings: Mapping[Spot, Sounding], taken: Sequence[str]) -> list[AnyPart]:
    """The couplers of a note, each with the places that it joins."""
    order = list(soundings)
    made: list[AnyPart] = []
    for link in sorted(found.links, key=lambda link: order.index(link.played)):
        one = link.coupler
        several = sum(other.coupler is one for other in found.links) > 1
        name = f"coupler-{slug(one.name)}{_suffix(link.played[1]) if several else ''}"
        while name in taken:
            name += "-x"
        ends: list[Outlet] = [
            (soundings[place].part(hold[0]), hold[1])
            for place, hold in ((link.played, one.takes), (link.driven, one.gives))
        ]
        made.append((one.part, name, one.values(soundings[link.played].note), ends[0], ends[1]))
    return made
