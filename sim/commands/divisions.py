"""Divisions as options name them, and results as commands handle them: of an action case, or of many divisions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from keyaction.models.notes import NoteProblem
from keyaction.sim.commands.console import tell
from keyaction.sim.files.division_notes import BETWEEN, division_named, full_name
from keyaction.sim.files.instrument_result import InstrumentResult
from keyaction.sim.files.labelled import Result


class NotChosen(ValueError):
    """Divisions that a command cannot take so; the message is one sentence."""


def wanted_divisions(options: Sequence[str] | None, names: Sequence[str]) -> list[str]:
    """The divisions that --division names, in their own order; all without it.

    Raises
    ------
    NotChosen
        If there is no such division.
    """
    if not options:
        return list(names)
    words = [word for text in options for word in text.split(",")]
    try:
        named = {division_named(word, names) for word in words}
    except NoteProblem as problem:
        raise NotChosen(f"--division {','.join(options)}: {problem}") from None
    return [name for name in names if name in named]


def one_division(names: Sequence[str], what: str) -> None:
    """Complain where several divisions are chosen for what is of one alone.

    Raises
    ------
    NotChosen
        Naming them.
    """
    if len(names) != 1:
        raise NotChosen(f"{what}: one division is needed; choose it with --division: {', '.join(names)}")


def of_divisions(result: Result | InstrumentResult) -> Mapping[str, Result]:
    """The result of each division; that of an action case under an empty name."""
    return result if isinstance(result, InstrumentResult) else {"": result}


def chosen_results(
    result: Result | InstrumentResult, divisions: Sequence[str] | None, file: object
) -> Mapping[str, Result]:
    """The results of the divisions that --division names.

    Raises
    ------
    NotChosen
        If the file holds no divisions, or not those.
    """
    if isinstance(result, InstrumentResult):
        return {name: result[name] for name in wanted_divisions(divisions, list(result))}
    if divisions:
        raise NotChosen(f"--division {','.join(divisions)}: {file} is of an action case and has no divisions")
    return {"": result}


def with_note(results: Mapping[str, Result], note: str) -> dict[str, str]:
    """The note as each division has it, of those that are meant: the one before the stroke, or all that hold it.

    Raises
    ------
    KeyError, ValueError
        If none holds it.
    """
    if "" in results:
        return {"": results[""].notes[results[""].index(note)]}
    whole = InstrumentResult(results)
    if BETWEEN in note:
        return dict([whole.find(note)])
    found = {name: note for name in results if whole.holds(name, note)}
    return found or dict([whole.find(note)])


def tell_failed(results: Mapping[str, Result]) -> bool:
    """Tell of every note that failed; whether one did."""
    failed = False
    for division, one in results.items():
        for name, status in zip(one.notes, one["status"], strict=True):
            if status != "ok":
                tell(f"{full_name(division, name)}: {status}")
                failed = True
    return failed
