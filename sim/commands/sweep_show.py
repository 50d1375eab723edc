"""keyaction sweep show: what a study found."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from rich.console import Console

from keyaction.cases.text.near import hint
from keyaction.models.notes import NoteProblem
from keyaction.sim.analysis.pareto import Sense, usual_sense
from keyaction.sim.analysis.view import NotInStudy, StudyView
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED
from keyaction.sim.commands.console import err, out, tell
from keyaction.sim.commands.on_rail import of_result
from keyaction.sim.commands.sheet_tables import paragraph
from keyaction.sim.commands.spread_tables import neighbours_told
from keyaction.sim.commands.sweep_tables import (
    designs_table,
    detail_tables,
    fates_table,
    inputs_table,
    limits_told,
    pareto_table,
    quantities_table,
    reasons_table,
    weights_table,
)
from keyaction.sim.figures.columns import shown_in
from keyaction.sim.figures.evenness import felt_steps
from keyaction.sim.sweep.open import study_on_disk


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    view = StudyView(study_on_disk(options.folder))
    try:
        note = _note(view, options.note)
        chosen = _quantities(view, options.quantity)
        senses = _senses(view, options.pareto)
    except (NotInStudy, NoteProblem, KeyError) as problem:
        err().print(f"{options.folder}: {problem.args[0]}", markup=False)
        return BAD_INPUT
    _tables(out(), view, note, chosen, senses, options)
    if line := of_result(view.result, options.units):
        tell(f"note: {line}")
    if options.plots:
        return _draw(view, view.result.notes[note], chosen or None, senses or _usual_front(view), options)
    return DONE


def _draw(
    view: StudyView, note: str, chosen: Sequence[str] | None, senses: dict[str, Sense], options: argparse.Namespace
) -> int:
    from keyaction.plots.study.save import save_study  # here, because the plotting library takes a second to load

    try:
        made = save_study(view.result, options.plots, note, chosen, senses, options.units)
    except OSError as problem:
        err().print(str(problem), markup=False)
        return FAILED
    out().print(f"pictures: {len(made)} in {options.plots}", markup=False, soft_wrap=True)
    return DONE


def _tables(
    console: Console,
    view: StudyView,
    note: int,
    chosen: Sequence[str],
    senses: dict[str, Sense],
    options: argparse.Namespace,
) -> None:
    names = chosen or view.quantities
    console.print(designs_table(view))
    for told in (fates_table(view), reasons_table(view)):
        if told:
            console.print(told)
    console.print(f"\n{view.result.about.get('methods', '')}", markup=False)
    console.print(inputs_table(view, options.units))
    if len(view.result.notes) > 1 and not options.note:
        others = ", ".join(view.result.notes)
        console.print(f"\nnote {view.result.notes[note]} of {others}; another: --note NAME", markup=False)
    if not view.played(note):
        console.print(f"\nNo design has figures at {view.result.notes[note]}.", markup=False)
        return
    console.print(quantities_table(view, names, note, options.units))
    limits = limits_told(view, note) if "repetition_rate" in names else ""
    for line in filter(None, (limits, _neighbours(view))):
        console.print()
        paragraph(console, line)
    if chosen:
        for name in chosen:
            for table in detail_tables(view, name, note, options.units):
                console.print(table)
    elif view.inputs:
        console.print(weights_table(view, names, note))
    if senses:
        console.print(pareto_table(view, senses, note, options.units))


def _neighbours(view: StudyView) -> str:
    """What neighbours do where every note of a design has deviations of its own; else nothing."""
    result = view.result
    if result.about.get("plan") != "tolerances" or "pluck_force" not in result:
        return ""
    _, known, felt = felt_steps(result["semitone"], result["pluck_force"])
    return neighbours_told(felt.sum(axis=1), known.sum(axis=1)) if known.any() else ""


def _note(view: StudyView, wanted: str | None) -> int:
    notes = view.result.notes
    return view.result.index(wanted) if wanted else (len(notes) - 1) // 2


def _words(text: str | None) -> list[str]:
    return [word.strip() for word in (text or "").split(",") if word.strip()]


def _quantities(view: StudyView, text: str | None) -> list[str]:
    return [view.known(name) for name in dict.fromkeys(_words(text))]


def _senses(view: StudyView, text: str | None) -> dict[str, Sense]:
    """Names with what is wanted of each.

    Raises
    ------
    NotInStudy
        If a name or sense is not known, or fewer than two are given.
    """
    senses: dict[str, Sense] = {}
    for word in _words(text):
        name, _, wanted = word.partition(":")
        view.number(name)
        if wanted not in ("", "min", "max"):
            raise NotInStudy(f"--pareto {word}: '{wanted}' is not a sense{hint(wanted, ('min', 'max'))}")
        senses[name] = usual_sense(name) if not wanted else "min" if wanted == "min" else "max"
    if text is not None and len(senses) < 2:
        raise NotInStudy(f"--pareto {text}: a front needs two quantities or more, with commas between")
    return senses


def _usual_front(view: StudyView) -> dict[str, Sense]:
    """The front that is drawn when none is asked for: a light touch that repeats fast."""
    names = [usual.name for usual in shown_in("front")]
    return {name: usual_sense(name) for name in names} if set(names) <= set(view.quantities) else {}
