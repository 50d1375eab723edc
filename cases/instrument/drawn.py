"""Which couplers are drawn, what they reach, and whether they go round in a loop."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from keyaction.cases.instrument.coupler import Coupler, pitch_told, slug
from keyaction.cases.instrument.coupler_reader import ALL_ON
from keyaction.cases.instrument.holds import depth
from keyaction.cases.instrument.instrument import Instrument
from keyaction.cases.text.near import hint
from keyaction.models.notes import HIGHEST

State = tuple[str, int]
"""A division, and how deep in its train it is moved: 0 at the key."""


class CouplerProblem(ValueError):
    """Couplers that cannot be drawn so; `defects` lists every reason."""

    def __init__(self, defects: Sequence[str]) -> None:
        self.defects = tuple(defects)
        super().__init__("\n".join(self.defects))

    def __reduce__(self) -> tuple[type[CouplerProblem], tuple[tuple[str, ...]]]:
        return CouplerProblem, (self.defects,)


def drawn_couplers(instrument: Instrument, text: str | Iterable[str]) -> tuple[str, ...]:
    """The couplers that are named, in the order of the instrument.

    Parameters
    ----------
    instrument : Instrument
    text : str or iterable of str
        Names with commas between, such as "II/I,I/pedal", or "all-on"; or the names one by one. Small and capital
        letters are alike.

    Returns
    -------
    tuple of str

    Raises
    ------
    keyaction.CouplerProblem
        With every name that no coupler has or that stands there twice; or with every loop: couplers by which a note
        would move itself, or play on from note to note.

    Examples
    --------
    >>> import keyaction as ka
    >>> instrument = ka.read_instrument("demo-instrument")
    >>> ka.drawn_couplers(instrument, "i/pedal, II/I")
    ('II/I', 'I/pedal')
    >>> try:
    ...     ka.drawn_couplers(instrument, "II/J")
    ... except ka.CouplerProblem as problem:
    ...     print(problem)
    no coupler 'II/J'; did you mean 'II/I'?
    """
    words = text.split(",") if isinstance(text, str) else list(text)
    if not instrument.couplers:
        raise CouplerProblem([f"{instrument.path.name} has no couplers: it has no [[coupler]] table"])
    if len(words) == 1 and slug(words[0]) == ALL_ON:
        chosen = tuple(instrument.couplers)
    else:
        named = _named(instrument, [word.strip() for word in words])
        chosen = tuple(name for name in instrument.couplers if name in named)
    if loops := _loops(instrument, [instrument.couplers[name] for name in chosen]):
        raise CouplerProblem(loops)
    return chosen


def _named(instrument: Instrument, words: Sequence[str]) -> list[str]:
    """The couplers by their names; what is wrong with any of them is raised."""
    names, found, wrong = list(instrument.couplers), list[str](), list[str]()
    for word in words:
        name = next((one for one in names if _plain(one) == _plain(word)), None)
        if slug(word) == ALL_ON:
            wrong.append(f"'{word}' stands for all couplers; no other is named beside it")
        elif not word:
            wrong.append(f"a coupler's name is missing; there are {', '.join(names)}")
        elif name is None:
            wrong.append(f"no coupler '{word}'{hint(word, names)}")
        elif name in found:
            wrong.append(f"the coupler '{name}' is named twice")
        else:
            found.append(name)
    if wrong:
        raise CouplerProblem(list(dict.fromkeys(wrong)))
    return found


def _plain(name: str) -> str:
    return " ".join(name.lower().split())


def carried(instrument: Instrument, couplers: Iterable[Coupler], state: State) -> Iterator[tuple[Coupler, State]]:
    """The couplers that a division takes along where it is moved from some depth on, and what each of them moves."""
    division, deep = state
    for one in couplers:
        if one.played == division and depth(instrument.divisions[division], one.takes) >= deep:
            yield one, (one.driven, depth(instrument.divisions[one.driven], one.gives))


def _loops(instrument: Instrument, couplers: Sequence[Coupler]) -> list[str]:
    """A sentence for the shortest loop of every coupler that is in one: a division would be moved by what it moves."""
    starts = dict.fromkeys((one.played, 0) for one in couplers)
    starts |= dict.fromkeys(state for start in starts for _, state in carried(instrument, couplers, start))
    found: dict[frozenset[str], str] = {}
    for start in starts:
        for first in carried(instrument, couplers, start):
            if way := _back(instrument, couplers, start, first):
                found.setdefault(frozenset(one.name for one in way), _told(start[0], way))
    return list(found.values())


def _told(division: str, way: Sequence[Coupler]) -> str:
    shift = sum(one.shift for one in way)
    end = f"{pitch_told(shift)}, and so on" if shift else "the same note"
    names = ", ".join(one.name for one in way)
    return f"the couplers {names} go round in a loop: '{division}' would move itself ({end}); draw one of them less"


def _back(
    instrument: Instrument, couplers: Sequence[Coupler], start: State, first: tuple[Coupler, State]
) -> list[Coupler]:
    """The shortest way, by some first coupler, on which a division moves itself; empty if there is none.

    It does where its own note is reached, or any of its notes at the place where it was moved or before it.
    """
    ways: dict[tuple[State, int], list[Coupler]] = {(first[1], first[0].shift): [first[0]]}
    waiting = list(ways)
    for state, shift in waiting:
        way = ways[state, shift]
        if state[0] == start[0] and (shift == 0 or state[1] <= start[1]):
            return way
        for one, then in carried(instrument, couplers, state):
            after = then, shift + one.shift
            if after not in ways and abs(after[1]) <= HIGHEST:
                ways[after] = [*way, one]
                waiting.append(after)
    return []
