"""The chord of a report: of a case, or of an instrument with notes of several divisions and couplers drawn."""

from __future__ import annotations

import argparse
import re
from collections.abc import Sequence

from keyaction.cases.action.case import Case
from keyaction.cases.instrument.instrument import Instrument
from keyaction.plots.report.case import instrument_of
from keyaction.sim.chord.chord import Chord
from keyaction.sim.commands.chosen import Choice
from keyaction.sim.files.division_notes import BETWEEN
from keyaction.sim.files.instrument_result import InstrumentResult
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.problem import FileProblem


def refuse_without_chord(options: argparse.Namespace, is_result: bool) -> None:
    """Complain about options that go with --chord alone.

    Raises
    ------
    FileProblem
        Naming them.
    """
    if options.chord:
        return
    if options.stops:
        raise FileProblem(f"--stops {options.stops}: goes with --chord")
    if options.coupled and is_result:
        told = "goes with --chord; the rest of a result file has the couplers that it was played with"
        raise FileProblem(f"--coupled {options.coupled}: {told}")


def struck_chord(
    options: argparse.Namespace,
    choice: Choice | None,
    whole: Result | InstrumentResult | None,
    divisions: Sequence[str],
    case: Case | None,
) -> Chord:
    """The chord of the report, played.

    Parameters
    ----------
    options : Namespace
    choice, whole
        What is reported: a case or an instrument, or a result.
    divisions : sequence of str
        Those that are reported.
    case : Case or None
        Of the first of them.

    Raises
    ------
    keyaction.ChordProblem, keyaction.CouplerProblem, keyaction.FileProblem, NotPlayed
        If it cannot be one, its case cannot be read, or a note of it cannot be played.
    """
    from keyaction.sim.chord.of_case import chord  # here, because few reports have one

    own = divisions[0] if len(divisions) == 1 else ""
    if options.coupled or len(divisions) > 1 or any(one != own.lower() for one in _divisions_named(options)):
        of: Case | Instrument | None = _instrument(options, choice, whole) or case
        return chord(_known(options, of), options.chord, options.stops, division=own, coupled=options.coupled or ())
    notes = [piece.rpartition(BETWEEN)[2] for piece in _pieces(options)] if own else options.chord
    return chord(_known(options, case), notes, options.stops)


def _pieces(options: argparse.Namespace) -> list[str]:
    return [piece for piece in re.split(r"[\s,]+", options.chord) if piece]


def _divisions_named(options: argparse.Namespace) -> set[str]:
    """The divisions that stand before notes, in small letters."""
    return {piece.rpartition(BETWEEN)[0].lower() for piece in _pieces(options) if BETWEEN in piece}


def _known(options: argparse.Namespace, of: Case | Instrument | None) -> Case | Instrument:
    if of is None:
        raise FileProblem(f"{options.case}: a chord needs the case in it, which cannot be read; play it again")
    return of


def _instrument(
    options: argparse.Namespace, choice: Choice | None, whole: Result | InstrumentResult | None
) -> Instrument | None:
    """The instrument that is reported; None of an action case.

    Raises
    ------
    FileProblem
        If a result is of one that cannot be read again.
    """
    if choice is not None:
        return choice.instrument
    if not isinstance(whole, InstrumentResult):
        return None
    found = instrument_of(whole.about)
    if found is None:
        name = whole.about.get("instrument_name", "INSTRUMENT")
        raise FileProblem(
            f"{options.case}: a chord of several divisions, or with couplers drawn, needs the instrument in it, which "
            f"cannot be read; choose one --division and leave --coupled out, or play it again with keyaction run {name}"
        )
    return found


def chord_pages(options: argparse.Namespace, divisions: Sequence[str]) -> set[str]:
    """The divisions on whose page the chord stands: those whose keys it presses, else the first that is reported."""
    named = _divisions_named(options)
    return {name for name in divisions if name.lower() in named} or {divisions[0]}
