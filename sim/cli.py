"""The command `keyaction`: parse, call, print; nothing is computed here."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

from keyaction._version import __version__
from keyaction.cases.text.defects import CaseProblem
from keyaction.models.algebra.dimensions import DimensionProblem
from keyaction.models.notes import NoteProblem
from keyaction.models.train.train import TrainProblem
from keyaction.sim.commands import check, compare, equations, new, report, run, show, springs, sweep, tune, weigh
from keyaction.sim.commands.common import BAD_INPUT, FAILED, STATUSES, STOPPED, err
from keyaction.sim.files.problem import FileProblem

DESCRIPTION = """\
How a tracker key action will feel, speak and repeat, before the wood is cut.

A case file describes the train of parts from key to pallet and how each varies
over the compass; the program derives its equations of motion, plays every note,
and gives pluck point, touch, delay and repetition rate with their feel curves."""

EXAMPLES = f"""\
examples:
  keyaction new my-action                     a commented starting case
  keyaction check my-action.toml --note C4    train, derived figures, assumptions
  keyaction run my-action.toml --plots pics   play all notes
  keyaction show my-action.h5 --note C4       everything about one note
  keyaction sweep quick --out quick           many designs: a shipped study
  keyaction compare my-action.toml --rod spruce,carbon-rod --out rods
                                              variants side by side
  keyaction report my-action.h5 --out report  sheets that a shop can print
  keyaction weigh my-action.toml              weigh the keys, wind on and off
  keyaction tune my-action.toml --pluck '150 gf' --out tuned.toml
                                              the spring of every note
  keyaction springs tuned.toml                those springs from the wire in stock

{STATUSES}"""


def parser() -> argparse.ArgumentParser:
    """The command line."""
    made = argparse.ArgumentParser(
        "keyaction", description=DESCRIPTION, epilog=EXAMPLES, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    made.add_argument("--version", action="version", version=f"keyaction {__version__}")
    commands = made.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for command in (new, check, run, show, equations, sweep, compare, report, weigh, tune, springs):
        command.add(commands)
    return made


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command line; returns the exit status."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    options = sweep.show_arguments(given) or parser().parse_args(given)
    try:
        status: int = options.act(options)
    except (CaseProblem, NoteProblem) as problem:
        return _complain(str(problem), BAD_INPUT)
    except TrainProblem as problem:
        return _complain("\n".join(f"{options.case}: {text}" for text in problem.defects), BAD_INPUT)
    except FileProblem as problem:
        return _complain(str(problem), BAD_INPUT if _unread(options) else FAILED)
    except DimensionProblem as problem:
        return _complain(f"the equations do not agree in dimension: {problem}", FAILED)
    except KeyboardInterrupt:
        return _complain("stopped", STOPPED)
    except BrokenPipeError:
        sys.stderr.close()
        return FAILED
    return status


def _unread(options: argparse.Namespace) -> bool:
    """A file that was to be read is wrong input; one that was to be written is a failure."""
    return hasattr(options, "file")


def _complain(text: str, status: int) -> int:
    err().print(text, markup=False)
    return status


if __name__ == "__main__":
    raise SystemExit(main())
