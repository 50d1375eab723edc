"""keyaction run: play the notes of a case and write the result file and pictures."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.models.notes import note_name
from keyaction.models.train.structure import Structure
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.commands.chosen import Choice, choose
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED, STOPPED
from keyaction.sim.commands.console import out, tell
from keyaction.sim.commands.coupled_tables import show_notes
from keyaction.sim.commands.couplers import uncoupled
from keyaction.sim.commands.divisions import of_divisions, tell_failed
from keyaction.sim.commands.on_rail import tell_rail
from keyaction.sim.commands.pictures import draw
from keyaction.sim.commands.playing import play
from keyaction.sim.commands.progress import Bar, progress
from keyaction.sim.commands.spread_tables import show_spread
from keyaction.sim.files.division_notes import full_name
from keyaction.sim.files.instrument_result import InstrumentResult
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.files.taken import RESULT
from keyaction.sim.files.text import refuse_unwritable
from keyaction.sim.run.checking import staged, warnings
from keyaction.sim.run.note import NoteResult
from keyaction.sim.run.run import kernels_of
from keyaction.sim.run.standings import standings
from keyaction.sim.spread import FEWEST, MOST


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    choice = choose(options, options.notes)
    if options.jobs < 0:
        tell(f"--jobs {options.jobs}: must be 0 (one per core) or more")
        return BAD_INPUT
    if options.spread is not None:
        if choice.coupling:
            tell("--spread: draws are of divisions alone; leave out --coupled, or --spread")
            return BAD_INPUT
        if not FEWEST <= options.spread <= MOST:
            tell(f"--spread {options.spread}: {FEWEST} to {MOST} draws are possible")
            return BAD_INPUT
        need_numba()
    target = options.out or Path(f"{choice.path.stem}.h5")
    trains = choice.each(lambda one: one.trains())
    refuse_unwritable(target, "--out", RESULT)
    if options.plots and options.plots.exists() and not options.plots.is_dir():
        raise FileProblem(f"{options.plots}: is no folder; name another with --plots")
    if target.exists():
        tell(f"note: {target} is there already; it is replaced when all notes are played")
    _notices({train.structure for of in trains for train in of.values()})
    for line in uncoupled(choice):
        tell(f"note: {line}")
    for one, of in zip(choice, trains, strict=True):
        before, standing = f"{one.division}: " if one.division else "", standings(of, one.case.strokes, options.jobs)
        for line in warnings(one.case, standing):
            tell(f"warning: {before}{line}")
        if line := staged(one.case, standing, options.units):
            tell(f"note: {before}{line}")
    tell_rail(choice, options.units, options.jobs)
    try:
        result = _played(choice, target, options.jobs)
    except KeyboardInterrupt:
        kept = f"finished notes are kept in {target}.part: the same command goes on from there"
        none = "no note was finished, nothing is kept: the same command begins again"
        tell(f"stopped; {kept if Path(f'{target}.part').is_dir() else none}")
        return STOPPED
    console = out()
    show_notes(console, of_divisions(result), options.units)
    if options.spread is not None:
        try:
            result = _spread(result, choice, target, options)
        except KeyboardInterrupt:
            tell(f"stopped; {target} holds the figures without their spread")
            return STOPPED
        for played in of_divisions(result).values():
            show_spread(console, played, options.units)
    console.print(f"result: {target}", markup=False, soft_wrap=True)
    status = DONE
    if options.plots:
        status = max(draw(one, options.plots / name, options.units) for name, one in of_divisions(result).items())
    return FAILED if tell_failed(of_divisions(result)) else status


def _spread(
    result: Result | InstrumentResult, choice: Choice, target: Path, options: argparse.Namespace
) -> Result | InstrumentResult:
    """The result with its spread, written in its place."""
    from keyaction.sim.files.hdf5 import save  # here, as a run has loaded it by now
    from keyaction.sim.spread.spread import with_spread

    made, parts = {}, of_divisions(result)
    for one in choice:
        with progress(f"drawing {one.division}".strip(), options.spread) as bar:

            def told(words: str, done: int, total: int, bar: Bar = bar) -> None:
                bar.at(done, total, words)

            made[one.division] = with_spread(
                parts[one.division], one.case, options.spread, jobs=options.jobs, progress=told
            )
    whole = InstrumentResult(made, result.about) if isinstance(result, InstrumentResult) else made[""]
    save(whole, target)
    return whole


def _notices(structures: set[Structure]) -> None:
    for notice in {kernel.notice for kernel in kernels_of(structures)} - {""}:
        tell(f"note: {notice}")


def _played(choice: Choice, target: Path, jobs: int) -> Result | InstrumentResult:
    with progress("playing", sum(len(one.notes) for one in choice)) as bar:

        def told(division: str, result: NoteResult, kept: bool) -> None:
            name = full_name(division, note_name(result.note, choice.naming))
            bar.step(f"{'kept' if kept else 'played'} {name:4}")

        return play(choice, target, jobs, told)
