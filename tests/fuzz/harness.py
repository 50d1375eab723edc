"""Inputs by the thousand: what is neither taken nor refused in words is a finding, kept as a file to reproduce it.

Every input hangs on seed, kind and number alone, so that ``--seed 1 --kind cases --number 4711`` makes it again.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import random
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "helpers"))

from keyaction.cases.text.signs import UNSEEN, legible
from keyaction.cases.tuning.targets import TuneProblem
from keyaction.sim.commands.complaints import complaint
from keyaction.sim.compare.variants import ComparisonProblem
from keyaction.sim.files.begun import Refused

HANG = 10.0
"""s of computing after which an input counts as one that hangs; or a dozen times that of waiting."""
LONGEST_LINE, LONGEST_MESSAGE = 2_000, 200_000
TAKEN, REFUSED, FINDING = "taken", "refused", "finding"
USUAL = argparse.Namespace(case="some.toml", file="some.h5")

Use = Callable[[random.Random, Path], object]
"""Makes one input in an empty folder by the random numbers given, and uses it as the program would."""


class Hang(BaseException):
    """An input that takes too long."""


class Wrong(Exception):
    """An answer that no user should get; the message says why."""


class NothingToRefuse(Exception):
    """Refused, as a command that catches its own complaints does: the message is what was said."""


@dataclass
class Tally:
    """What became of the inputs of one kind."""

    outcomes: Counter[str] = field(default_factory=Counter)
    findings: dict[str, tuple[int, str]] = field(default_factory=dict)

    @property
    def count(self) -> int:
        return sum(self.outcomes.values())


def refusal(problem: BaseException) -> str | None:
    """What a command would say of it; None for what it would not catch."""
    if isinstance(problem, (TuneProblem, ComparisonProblem, Refused, NothingToRefuse)):
        return legible(str(problem))  # as the console shows it
    told = complaint(problem, USUAL) if isinstance(problem, Exception) else None
    return told[0] if told else None


def judge_message(text: str) -> None:
    """Refuse a refusal that cannot be read."""
    if not text.strip():
        raise Wrong("a refusal without a word")
    if len(text) > LONGEST_MESSAGE:
        raise Wrong(f"a refusal of {len(text)} letters")
    longest = max(text.split("\n"), key=len)
    if len(longest) > LONGEST_LINE:
        raise Wrong(f"a refusal with a line of {len(longest)} letters: {longest[:200]}")
    if found := UNSEEN.search(text):
        raise Wrong(f"a refusal with a sign that cannot be seen, U+{ord(found[0]):04X}")


@contextlib.contextmanager
def limited(seconds: float) -> Iterator[None]:
    """Raise `Hang` in what takes longer."""

    def stop(_: int, __: FrameType | None) -> None:
        raise Hang(f"more than {seconds} s")

    clocks = ((signal.SIGVTALRM, signal.ITIMER_VIRTUAL, seconds), (signal.SIGALRM, signal.ITIMER_REAL, 12 * seconds))
    before = [signal.signal(number, stop) for number, _, _ in clocks]
    for _, clock, after in clocks:
        signal.setitimer(clock, after)
    try:
        yield
    finally:
        for (number, clock, _), handler in zip(clocks, before, strict=True):
            signal.setitimer(clock, 0)
            signal.signal(number, handler)


def one(use: Use, seed: int, kind: str, number: int, tally: Tally, keep: Path | None = None) -> None:
    """Make an input, use it and count what became of it."""
    with tempfile.TemporaryDirectory(prefix="keyaction-fuzz-") as made:
        folder = Path(made)
        try:
            with limited(HANG), warnings.catch_warnings():
                warnings.simplefilter("error", RuntimeWarning)
                try:
                    use(random.Random(f"{seed} {kind} {number}"), folder)
                    tally.outcomes[TAKEN] += 1
                except Exception as problem:
                    told = refusal(problem)
                    if told is None:
                        raise
                    judge_message(told)
                    tally.outcomes[REFUSED] += 1
        except (Exception, Hang, SystemExit) as problem:
            tally.outcomes[FINDING] += 1
            _note(problem, f"--seed {seed} --kind {kind} --number {number}", folder, tally, keep)


def _note(problem: BaseException, which: str, folder: Path, tally: Tally, keep: Path | None) -> None:
    """Keep the first of each sort: its files, and what went wrong."""
    frames = traceback.extract_tb(problem.__traceback__)
    own = [frame for frame in frames if "fuzz" not in frame.filename] or list(frames)
    where = f"{Path(own[-1].filename).name}:{own[-1].lineno}" if own else "?"
    sort = f"{type(problem).__name__} at {where}"
    count, first = tally.findings.get(sort, (0, f"{which}: {type(problem).__name__}: {problem}"[:600]))
    tally.findings[sort] = (count + 1, first)
    if count == 0 and keep:
        target = keep / sort.replace(" ", "-").replace(":", "-").replace("/", "-")
        target.mkdir(parents=True, exist_ok=True)
        (target / "how.txt").write_text(which + "\n\n" + "".join(traceback.format_exception(problem)), "utf-8")
        for path in folder.rglob("*"):
            if path.is_file() and path.stat().st_size < 1_000_000:
                (target / path.name).write_bytes(path.read_bytes())


def told(tallies: Mapping[str, Tally]) -> str:
    """The tallies in words."""
    lines = []
    for kind, tally in tallies.items():
        each = ", ".join(f"{tally.outcomes[name]} {name}" for name in (TAKEN, REFUSED, FINDING))
        lines.append(f"{kind}: {tally.count} inputs: {each}")
        lines += [f"    {count} x {sort}\n        {first}" for sort, (count, first) in tally.findings.items()]
    return "\n".join(lines)


def quietly(use: Use) -> Use:
    """Without what the commands print."""

    def hushed(rng: random.Random, folder: Path) -> object:
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            return use(rng, folder)

    return hushed


def command(*words: object, status: tuple[int, ...] = (0, 1, 2)) -> str:
    """Run the command line in this process; what it complains of. A status not among those given is a finding."""
    from keyaction.sim.cli import main

    said, complained = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(complained):
        try:
            found = main([str(word) for word in words])
        except SystemExit as end:
            found = int(end.code or 0)
    if found not in status:
        raise Wrong(f"exit status {found} of {words}: {complained.getvalue()[:300]}")
    if UNSEEN.search(said.getvalue()):
        raise Wrong(f"{words} prints signs that cannot be seen")
    if found == 2:
        raise NothingToRefuse(complained.getvalue())
    return complained.getvalue()


def run(kinds: Mapping[str, Use]) -> int:
    """The program: fuzz every kind in turn; exit status 1 if anything was found."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seconds", type=float, default=60.0, help="how long, all kinds together (default: 60)")
    parser.add_argument("--count", type=int, help="so many inputs of each kind, however long it takes")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kind", choices=list(kinds), action="append", help="only these")
    parser.add_argument("--number", type=int, help="only this input, with its traceback")
    parser.add_argument("--keep", type=Path, help="folder for the findings")
    options = parser.parse_args()
    chosen = {name: quietly(kinds[name]) for name in options.kind or kinds}
    if options.number is not None:
        for kind in chosen:
            with tempfile.TemporaryDirectory() as folder:
                kinds[kind](random.Random(f"{options.seed} {kind} {options.number}"), Path(folder))
        return 0
    tallies = {kind: Tally() for kind in chosen}
    for kind, use in chosen.items():
        until = time.monotonic() + options.seconds / len(chosen)
        number = 0
        while number < options.count if options.count else time.monotonic() < until:
            one(use, options.seed, kind, number, tallies[kind], options.keep)
            number += 1
    print(told(tallies))
    return int(any(tally.findings for tally in tallies.values()))
