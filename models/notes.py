"""Names of notes. A note is a whole number of semitones, 60 for middle C (C4).

Three namings: scientific (C2 to G6, middle C is C4), the trade's, after Helmholtz (C to B, c to b, c1 to b1
and so on; middle C is c1, and 1C is the octave below C), and the German, in the same octaves, in which H is B natural
and B is B flat (C, Cis, D, Dis or Es ... A, B, H, c).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from difflib import SequenceMatcher
from numbers import Integral
from typing import Literal, get_args

Note = int
Naming = Literal["scientific", "trade", "german"]
NAMINGS: tuple[Naming, ...] = get_args(Naming)

LOWEST, HIGHEST = 0, 127

_NATURALS = {"c": 0, "d": 2, "e": 4, "f": 5, "g": 7, "a": 9, "b": 11}
_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
_GERMAN_NAMES = ("C", "Cis", "D", "Dis", "E", "F", "Fis", "G", "Gis", "A", "B", "H")
_GERMAN_NATURALS = {"c": 0, "d": 2, "e": 4, "f": 5, "g": 7, "a": 9, "b": 10, "h": 11}
_SHARPS = frozenset({1, 3, 6, 8, 10})
_SHIFT = {"": 0, "#": 1, "♯": 1, "s": 1, "b": -1, "♭": -1}
# "s" for sharp only where a black key follows: Es and Bs would be read as flats by half of the trade.
_SCIENTIFIC = re.compile(r"(?P<letter>[A-Ga-g])(?P<sign>[#♯b♭B]|(?<=[CDFGAcdfga])[sS])?(?P<octave>-1|[0-9])")
_TRADE = re.compile(r"(?P<below>[12])?(?P<letter>[A-Ga-g])(?P<sign>[#♯b♭]|(?<=[CDFGAcdfga])s)?(?P<above>[1-6])?")
_GERMAN = re.compile(
    r"(?P<below>[12])?(?P<letter>[A-Ha-h])"
    r"(?P<sign>(?<=[CDFGAcdfga])(?:is|#|♯)|(?<=[DGdg])es|(?<=[EAea])s)?(?P<above>[1-6])?"
)
_SPELT = re.compile(
    r"(?P<below>[12]?)(?P<letter>[a-h])[ -]?(?:(?P<up>sharp|is|#|♯)|(?P<down>flat|es|s|b|♭))?[ ]?(?P<above>-1|[0-9]?)",
    re.IGNORECASE,
)
_H = re.compile(r"\s*[12]?[Hh]([0-9])?\s*")
_ALIKE = 0.5
"""Share of letters that a name has in common with the one that may be meant."""


class NoteProblem(ValueError):
    """A note or range of notes that cannot be read, or lies outside the compass."""


def _check_naming(naming: str) -> None:
    if naming not in NAMINGS:
        raise ValueError(f"naming '{naming}' is not known; {', '.join(map(repr, NAMINGS))}")


def naming_of(text: str | None) -> Naming:
    """The naming that a file names; scientific where it names none that is known."""
    return next((one for one in NAMINGS if one == text), "scientific")


def parse_note(text: str, naming: Naming = "scientific") -> Note:
    """Read the name of a note.

    Parameters
    ----------
    text : str
        Scientific: ``"C2"``, ``"F#3"``, ``"Bb3"``, ``"Cs2"`` in upper or lower case. Trade: ``"C"`` is C2,
        ``"c"`` C3, ``"c1"`` C4, ``"g3"`` G6, ``"c#1"``, ``"1C"`` C1. German: ``"H"`` is B2, ``"B"`` A#2,
        ``"cis1"`` C#4, ``"es"`` D#3.
    naming : {"scientific", "trade", "german"}

    Returns
    -------
    int
        Semitones, C4 = 60.

    Raises
    ------
    NoteProblem
        If the text is no note of that naming.
    """
    note = _known(text, naming, _NAMED)
    if note not in _NAMED:
        raise NoteProblem(f"'{text}' is outside {note_name(LOWEST)} to {note_name(HIGHEST)}")
    return note


_NAMED = range(LOWEST, HIGHEST + 1)
_EXAMPLES = {"scientific": "C2, F#3 or Bb3", "trade": "C, f#, bb or c1", "german": "C, fis, b, h or cis1"}


def _known(text: str, naming: Naming, compass: Sequence[Note]) -> Note:
    """The note that a text names, in the compass or not; how else it may be written is told of notes in it alone."""
    _check_naming(naming)
    plain = text.strip()
    note = _READ[naming](plain)
    if note is None:
        meant = _respelt(plain, naming)
        if meant and _READ[naming](meant) in compass:
            raise NoteProblem(f"'{text}' is not a note in {naming} naming; did you mean '{meant}'?")
        told = f"write e.g. {_EXAMPLES[naming]}{_about_h(text, naming, compass)}"
        raise NoteProblem(f"'{text}' is not a note in {naming} naming; {told}")
    return note


def _about_h(text: str, naming: Naming, compass: Sequence[Note]) -> str:
    """What to do about a German H."""
    if not _H.fullmatch(text):
        return ""
    if _READ[naming](_natural(text)) not in compass:
        return '; H is B natural in German naming (note_names = "german" in [case])'
    return f'; H is B natural: write {_natural(text)} here, or note_names = "german" in [case]'


def _natural(text: str) -> str:
    """A German H as other namings write it."""
    return text.strip().replace("H", "B").replace("h", "b")


def _scientific(plain: str) -> Note | None:
    found = _SCIENTIFIC.fullmatch(plain)
    if found is None:
        return None
    shift = _SHIFT[(found["sign"] or "").lower()]
    return 12 * (int(found["octave"]) + 1) + _NATURALS[found["letter"].lower()] + shift


def _trade(plain: str) -> Note | None:
    found = _TRADE.fullmatch(plain)
    return None if found is None else _in_octave(found, _NATURALS, _SHIFT[found["sign"] or ""])


def _german(plain: str) -> Note | None:
    found = _GERMAN.fullmatch(plain)
    if found is None:
        return None
    return _in_octave(found, _GERMAN_NATURALS, {"": 0, "s": -1, "es": -1}.get(found["sign"] or "", 1))


def _in_octave(found: re.Match[str], naturals: dict[str, int], shift: int) -> Note | None:
    """The note of a name after Helmholtz; None where figures and letter do not go together."""
    capital = found["letter"].isupper()
    if (capital and found["above"]) or (not capital and found["below"]):
        return None
    octave = 2 - int(found["below"] or 0) if capital else 3 + int(found["above"] or 0)
    return 12 * (octave + 1) + naturals[found["letter"].lower()] + shift


_READ = {"scientific": _scientific, "trade": _trade, "german": _german}


def _respelt(plain: str, naming: Naming) -> str:
    """What a name may mean whose sharp or flat is written as another naming has it; empty where that is no note."""
    found = _SPELT.fullmatch(plain)
    if found is None:
        return ""
    signs = ("is", "s" if found["letter"] in "EAea" else "es") if naming == "german" else ("#", "b")
    sign = signs[0] if found["up"] else signs[1] if found["down"] else ""
    meant = f"{found['below']}{found['letter']}{sign}{found['above']}"
    return "" if _READ[naming](meant) is None else meant


def note_name(index: Note, naming: Naming = "scientific") -> str:
    """Name a note, with sharps.

    Parameters
    ----------
    index : int
        Semitones, C4 = 60; 0 to 127, in trade and German naming 12 to 119.
    naming : {"scientific", "trade", "german"}

    Returns
    -------
    str
        For instance ``"C#2"``; ``"C#"`` in trade, ``"Cis"`` in German naming.

    Raises
    ------
    NoteProblem
        If the note has no name.
    """
    _check_naming(naming)
    low, high = (LOWEST, HIGHEST) if naming == "scientific" else (12, 119)
    if not low <= index <= high:
        raise NoteProblem(f"note {index} has no {naming} name; {low} to {high} is allowed")
    octave, step = index // 12 - 1, (_GERMAN_NAMES if naming == "german" else _NAMES)[index % 12]
    if naming == "scientific":
        return f"{step}{octave}"
    if octave <= 2:
        return step if octave == 2 else f"{2 - octave}{step}"
    return step.lower() + ("" if octave == 3 else str(octave - 3))


def is_sharp(index: Note) -> bool:
    """Whether the note has a sharp (a raised key)."""
    return index % 12 in _SHARPS


def file_name(index: Note) -> str:
    """Name of a note that is safe in a file's name, for instance ``"Cs2"``; `parse_note` reads it back."""
    return note_name(index).replace("#", "s")


def parse_range(text: str, compass: Sequence[Note], naming: Naming = "scientific") -> list[Note]:
    """Read a choice of notes.

    Parameters
    ----------
    text : str
        ``"all"``, one note ``"C4"``, a range ``"C2:G6"``, a range with a step in semitones ``"C2:G6:12"``,
        or several of these with commas between. Notes that a short octave lacks are left out of ranges.
    compass : sequence of int
        Every note there is, rising, for instance ``range(36, 92)``.
    naming : {"scientific", "trade", "german"}

    Returns
    -------
    list of int
        In the order given, each note once.

    Raises
    ------
    NoteProblem
        If a name cannot be read, lies outside the compass, or a range is empty; the message has a line for each
        piece that is wrong, with the compass and the nearest note in it.
    """
    if text.strip().lower() == "all":
        return list(compass)
    if not text.strip():
        raise NoteProblem(f"'{text}' names no note; {_described(compass, naming)}")
    chosen: dict[Note, None] = {}
    wrong: dict[str, None] = {}
    for piece in text.split(","):
        try:
            chosen.update(dict.fromkeys(_piece(piece, text, compass, naming)))
        except NoteProblem as problem:
            wrong[str(problem)] = None
    if wrong:
        raise NoteProblem("\n".join(wrong))
    return list(chosen)


def check_numbers(numbers: Sequence[Note], compass: Sequence[Note], naming: Naming = "scientific") -> list[Note]:
    """A choice of notes by their numbers.

    Parameters
    ----------
    numbers : sequence of int
        Semitones, C4 = 60.
    compass : sequence of int
        Every note there is, rising.
    naming : {"scientific", "trade", "german"}

    Returns
    -------
    list of int
        The same notes in the same order.

    Raises
    ------
    NoteProblem
        If there is none, one is no whole number, or one lies outside the compass.
    """
    if not isinstance(numbers, Iterable):
        raise NoteProblem(
            f"{numbers!r}: notes are named in a text, such as 'C4,E4', or by a list of numbers, such as [60]"
        )
    chosen = list(numbers)
    if not chosen:
        raise NoteProblem(f"the list of notes is empty; {_described(compass, naming)}")
    for note in chosen:
        if isinstance(note, bool) or not isinstance(note, Integral):
            told = "a list holds whole numbers, 60 for C4; names are written in one text, such as 'C4,E4'"
            raise NoteProblem(f"{note!r} in the list of notes: {told}")
        if note not in compass:
            raise NoteProblem(f"note {note}: this keyboard has none of that number; {_described(compass, naming)}")
    return [int(note) for note in chosen]


def _described(compass: Sequence[Note], naming: Naming) -> str:
    return f"the compass is {note_name(compass[0], naming)} to {note_name(compass[-1], naming)}"


def _piece(piece: str, text: str, compass: Sequence[Note], naming: Naming) -> list[Note]:
    """Read one note or one range."""
    where = f"'{piece.strip()}'" if piece == text else f"'{piece.strip()}' in '{text}'"
    parts = piece.split(":")
    if len(parts) > 3:
        raise NoteProblem(f"{where}: a range is FIRST:LAST or FIRST:LAST:STEP; {_described(compass, naming)}")
    ends, wrong = list[Note](), dict[str, None]()
    for part in parts[:2]:
        try:
            ends.append(_within(part, where, compass, naming))
        except NoteProblem as problem:
            wrong[str(problem)] = None
    if wrong:
        raise NoteProblem("\n".join(wrong))
    if len(ends) == 1:
        return ends
    step = _step(parts[2], where) if len(parts) == 3 else 1
    if ends[1] < ends[0]:
        raise NoteProblem(f"{where} runs downwards; write the lower note first")
    there = set(compass)
    return [note for note in range(ends[0], ends[1] + 1, step) if note in there]


def _within(part: str, where: str, compass: Sequence[Note], naming: Naming) -> Note:
    try:
        note = _known(part, naming, compass)
        if note in compass:
            return note
        told = f"this keyboard has no {part.strip()}"
    except NoteProblem as problem:
        told = str(problem)
    raise NoteProblem(f"{where}: {told}; {_described(compass, naming)}{_nearest(part.strip(), compass, naming)}")


def _nearest(plain: str, compass: Sequence[Note], naming: Naming) -> str:
    """The note of the compass that a name may mean: the same in the nearest octave, or spelt most like it."""
    read = _READ[naming]
    wanted = read(_natural(plain) if _H.fullmatch(plain) else _respelt(plain, naming) or plain)
    if wanted is None:
        alike = {name: _alike(plain, name) for name in (note_name(note, naming) for note in compass)}
        best = max(alike, key=lambda name: alike[name])
        return f"; the nearest is {best}" if alike[best][0] >= _ALIKE else ""
    if wanted in compass:
        return ""  # told already, as another spelling
    near = min(compass, key=lambda note: ((note - wanted) % 12 != 0, abs(note - wanted)))
    return f"; the nearest is {note_name(near, naming)}"


def _alike(one: str, other: str) -> tuple[float, float]:
    """How alike two names are: capital and small letters taken as one, then as they are."""
    return (
        SequenceMatcher(None, one.lower(), other.lower()).ratio(),
        SequenceMatcher(None, one, other).ratio(),
    )


def _step(part: str, where: str) -> int:
    if not re.fullmatch(r"\s*[0-9]{1,3}\s*", part) or int(part) < 1:
        raise NoteProblem(f"{where}: the step '{part.strip()}' is not a whole number of semitones from 1 up")
    return int(part)
