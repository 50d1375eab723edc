"""A chord of a case, or of an instrument: its notes as they are written, its stops, what comes of it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from keyaction.cases.action.case import Case
from keyaction.cases.action.trains import check_trains
from keyaction.cases.instrument.drawn import CouplerProblem, drawn_couplers
from keyaction.cases.instrument.instrument import Instrument
from keyaction.models.notes import Naming, Note, NoteProblem, note_name, parse_note
from keyaction.models.train.train import TrainProblem
from keyaction.sim.chord.chord import Chord, Member, boxes_named, play_chord
from keyaction.sim.chord.coupled import box_of, coupled_members
from keyaction.sim.chord.problem import ChordProblem
from keyaction.sim.files.division_notes import BETWEEN, division_named, full_name
from keyaction.sim.wind.stops import StopProblem, names_of, read_stops, with_stops

RATES = (0.5, 20.0)
"""Hz at which a chord may be repeated."""
BOX = "box"
"""The box of an action case."""


def chord(
    of: Case | Instrument,
    notes: str | Sequence[str],
    stops: str | Sequence[str] | None = None,
    repeat: float = 0.0,
    division: str = "",
    coupled: str | Sequence[str] = (),
) -> Chord:
    """Play a chord: its notes at once, joined through the wind of their boxes.

    Parameters
    ----------
    of : Case or Instrument
    notes : str or sequence of str
        Notes with spaces or commas between, of an instrument ``DIVISION/NOTE``.
    stops : str or sequence of str, optional
        Stops drawn on every groove of the chord, in this order, ``"all"`` or ``"none"``; by default as the case
        has them.
    repeat : float
        Rate in Hz at which the chord is repeated as well; 0 for none.
    division : str
        Of an instrument, that of the notes which name none; by default the one of which all drawn couplers take hold.
    coupled : str or sequence of str
        Couplers drawn, as `drawn_couplers` takes them. A note that two keys of the chord reach is counted once.

    Returns
    -------
    Chord
        Its ``notes`` (pluck force, delays and pressures, alone and under the chord), its ``boxes`` (sag, smallest
        trunk), ``carries`` and ``carries_now``, ``robbing``, and ``played``: every motion, pressure and flow.

    Raises
    ------
    ChordProblem
        A `ValueError` with every defect: no note, one outside the compass, one named twice, a stop that there is not,
        a rate that cannot be, notes of one box that is fed in two ways.
    keyaction.CouplerProblem
        Of couplers that there are not, or that go round in a loop.
    keyaction.TrainProblem
        Where a note cannot be built.

    Examples
    --------
    >>> import keyaction as ka
    >>> found = ka.chord(ka.read_case("demo-wood"), "C3 E3 G3 C4", stops="all")
    >>> [one.name for one in found.notes], found.carries
    (['C3', 'E3', 'G3', 'C4'], True)
    >>> (box,) = found.boxes
    >>> round(100 * box.sag, 1), round(100 * box.deepest_sag)  # per cent: held, and just after the attack
    (0.1, 21)
    """
    defects = rate_defects(repeat)
    members, told = list[Member](), tuple[str, ...]()
    try:
        members, told = members_of(of, notes, division, coupled)
    except ChordProblem as problem:
        defects = [*problem.defects, *defects]
    order = None
    if members and stops is not None:
        try:
            order = read_stops(stops, names_of(one.train for one in members))
        except StopProblem as problem:
            defects += problem.defects
    if defects:
        raise ChordProblem(defects)
    if order is not None:
        members = [Member(m.name, with_stops(m.train, order), m.strokes, m.boxes) for m in members]
    drawn = drawn_couplers(of, coupled) if coupled and isinstance(of, Instrument) else ()
    return replace(play_chord(members, order, repeat), told=told, coupled=drawn)


def rate_defects(rate: float) -> list[str]:
    """What is wrong with a rate of repetition."""
    if rate == 0.0 or RATES[0] <= rate <= RATES[1]:
        return []
    return [f"repeat: {rate:g} Hz; allowed: {RATES[0]:g} Hz to {RATES[1]:g} Hz"]


def members_of(
    of: Case | Instrument, notes: str | Sequence[str], division: str = "", coupled: str | Sequence[str] = ()
) -> tuple[list[Member], tuple[str, ...]]:
    """The notes of a chord with their trains, each box of a division one box of the chord; and what is said of them.

    Raises
    ------
    ChordProblem
        With every note that is wrong.
    keyaction.TrainProblem
        Where a note cannot be built.
    """
    pieces = [one for one in re.split(r"[\s,]+", notes) if one] if isinstance(notes, str) else [str(n) for n in notes]
    if not pieces:
        raise ChordProblem(["the chord has no note; write them with spaces between, such as 'C3 E3 G3'"])
    division = division or _coupled_division(of, coupled)
    found, wrong = list[tuple[str, Note]](), dict[str, None]()
    for piece in pieces:
        try:
            found.append(_note(of, piece, division))
        except (NoteProblem, ChordProblem) as problem:
            wrong[f"'{piece}': {problem}" if piece not in str(problem) else str(problem)] = None
    naming: Naming = of.naming
    for (name, note), times in Counter(found).items():
        if times > 1:
            wrong[
                f"'{full_name(name, note_name(note, naming))}' stands {times} times in the chord; a key is down once"
            ] = None
    if wrong:
        raise ChordProblem(list(wrong))
    divisions = list(dict.fromkeys(name for name, _ in found))
    if coupled:
        if isinstance(of, Case):
            raise ChordProblem(["coupled: an action case has no couplers; name an instrument"])
        return coupled_members(of, found, drawn_couplers(of, coupled))
    return [one for name in divisions for one in _of_division(of, name, found, name if len(divisions) > 1 else "")], ()


def _coupled_division(of: Case | Instrument, coupled: str | Sequence[str]) -> str:
    """The division of which all couplers that are drawn take hold; empty where there are several, or none."""
    if isinstance(of, Case) or not coupled:
        return ""
    try:
        played = {of.couplers[name].played for name in drawn_couplers(of, coupled)}
    except CouplerProblem:  # told when the notes are known
        return ""
    return played.pop() if len(played) == 1 else ""


def _note(of: Case | Instrument, piece: str, division: str) -> tuple[str, Note]:
    """Division and note of one piece of the chord."""
    before, between, text = piece.rpartition(BETWEEN)
    if isinstance(of, Case):
        if between:
            raise ChordProblem([f"'{piece}': an action case has no divisions; write the note alone, such as C4"])
        return "", _within(of, text)
    names = list(of.divisions)
    if not between and not division and len(names) > 1:
        raise ChordProblem(
            [f"'{piece}': of which division? write {names[0]}/{piece}, or choose it: {', '.join(names)}"]
        )
    name = division_named(before if between else division or names[0], names)
    return name, _within(of.divisions[name], text)


def _within(case: Case, text: str) -> Note:
    note, naming = parse_note(text, case.naming), case.naming
    if note not in case.compass:
        ends = " to ".join(note_name(end, naming) for end in (case.compass[0], case.compass[-1]))
        raise ChordProblem([f"'{text}' is outside the compass {ends}"])
    return note


def _of_division(of: Case | Instrument, name: str, found: Sequence[tuple[str, Note]], said: str) -> list[Member]:
    """The notes of one division, whose name is `said` before theirs where there are several."""
    case = of if isinstance(of, Case) else of.divisions[name]
    try:
        trains = check_trains(case, [note for division, note in found if division == name])
    except TrainProblem as problem:
        raise TrainProblem([f"{name}: {text}" if name else text for text in problem.defects]) from None
    box = BOX if isinstance(of, Case) else box_of(of, name)
    return [
        Member(full_name(said, note_name(note, case.naming)), train, case.strokes, boxes_named(train, box))
        for note, train in trains.items()
    ]
