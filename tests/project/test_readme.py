"""Every block of the READMEs runs, in the order in which it stands there: each command a test of its own."""

import os
import re
import shlex
import subprocess
import sys
import tomllib
from contextlib import chdir, redirect_stdout, suppress
from dataclasses import dataclass
from importlib.util import find_spec
from io import StringIO
from pathlib import Path

import pytest
from patience import HANG

from keyaction.cases.action.reader import read_case
from keyaction.models.notes import parse_range
from keyaction.sim import cli
from keyaction.sim.commands.parser import parse, parser

ROOT = Path(__file__).resolve().parents[2]
README = ROOT / "README.md"
ROOMS = ("sim", "models", "cases", "plots")
READMES = [README, *(path for room in ROOMS if (path := ROOT / room / "README.md").exists())]
TEXT = README.read_text(encoding="utf-8")
EXTRAS = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["optional-dependencies"]


def blocks(path: Path) -> list[tuple[str, str]]:
    """Language and text of every fenced block."""
    return re.findall(r"^```(\w+)\n(.*?)^```$", path.read_text(encoding="utf-8"), re.MULTILINE | re.DOTALL)


SH = [body for language, body in blocks(README) if language == "sh"]
SETUP = [body for body in SH if body.startswith("python3 -m venv")]


def read(command: str):
    """The arguments as the program reads them, without acting on them."""
    return parse(shlex.split(command)[1:])


def test_the_two_set_up_commands_come_first_and_are_one_line_each():
    assert len(SETUP) == 2
    assert SH[:2] == SETUP
    for body in SETUP:
        assert body.count("\n") == 1
        assert "\\\n" not in body


def steps(body: str) -> list[list[str]]:
    return [shlex.split(step) for step in body.strip().split(" && ")]


def test_the_set_up_commands_name_what_there_is():
    for body in SETUP:
        venv, install, last = steps(body)
        assert venv[:3] == ["python3", "-m", "venv"]
        assert install[0] == f"{venv[3]}/bin/pip" and install[1] == "install" and "-e" in install
        extra = re.fullmatch(r"\.(?:\[(\w+)\])?", install[-1])
        assert extra, install[-1]
        assert extra[1] is None or extra[1] in EXTRAS
        assert last[0].startswith(f"{venv[3]}/bin/")


def test_the_first_set_up_command_plays_a_shipped_case():
    _, _, last = steps(SETUP[0])
    assert Path(last[0]).name == "keyaction"
    options = read(shlex.join(["keyaction", *last[1:]]))
    case = read_case(options.case)
    notes = parse_range(options.notes, case.compass, case.naming) if options.notes else list(case.compass)
    assert {note // 12 for note in notes} == {note // 12 for note in case.compass}  # some of every octave
    # What the text around says will be there afterwards is what the command makes.
    assert str(options.out) in TEXT.split(SETUP[0])[0]
    assert str(options.plots) in TEXT.split(SETUP[0])[0]


def test_the_second_set_up_command_runs_these_tests():
    _, install, last = steps(SETUP[1])
    assert install[-1] == ".[test]"
    assert Path(last[0]).name == "python" and last[1:3] == ["-m", "pytest"]
    if "-n" in last:
        assert any(name.startswith("pytest-xdist") for name in EXTRAS["test"])


# -- the other blocks ------------------------------------------------------------------------------------
STATE = {
    "cd",
    "export",
    "unset",
    "set",
    "source",
    ".",
    "alias",
    "umask",
    "for",
    "while",
    "until",
    "if",
    "case",
    "{",
    "(",
}
"""Words at the head of a line that the lines below it may depend on."""
SHELL = set("$`*?~(){}<>|&;")


@dataclass(frozen=True)
class Step:
    """A block, or one command of a block of commands."""

    language: str
    text: str

    @property
    def words(self) -> list[str]:
        """The words of a plain command of the program; nothing where it takes a shell."""
        lexer = shlex.shlex(self.text, posix=True, punctuation_chars=True)
        lexer.whitespace_split, bare = True, re.sub(r"'[^']*'|#.*", "", self.text)
        plain = self.language == "sh" and not SHELL & set(bare) and "\n" not in self.text.strip()
        return list(lexer)[1:] if plain and self.text.split()[0] == "keyaction" else []


def commands(body: str) -> list[str]:
    """The lines of a block of commands; the block itself where they hang together by more than what they make."""
    lines = [line for line in body.splitlines() if line.strip() and not line.startswith("#")]
    together = any(
        line.endswith("\\") or "<<" in line or line[0].isspace() or line.split()[0] in STATE or "=" in line.split()[0]
        for line in lines
    )
    return [body] if together else lines


def steps_of(path: Path) -> list[Step]:
    """What is run of a README."""
    found = []
    for language, body in blocks(path):
        if language == "sh" and body not in SETUP:
            found += [Step(language, line) for line in commands(body)]
        elif language == "python":
            found.append(Step(language, body))
    return found


STEPS = {path.relative_to(ROOT).as_posix(): steps_of(path) for path in READMES}


class Walk:
    """A README's steps in an empty folder, in order; what stands before a step is run before it."""

    def __init__(self, steps: list[Step], folder: Path, environment: dict[str, str]) -> None:
        self.steps, self.folder, self.environment, self.done = steps, folder, environment, 0

    def to(self, index: int) -> None:
        for step in self.steps[self.done : index]:
            with suppress(Exception, SystemExit):  # whether it works is for the test of that step to say
                self.run(step)
        self.done = max(self.done, index + 1)
        self.run(self.steps[index])

    def run(self, step: Step) -> None:
        with chdir(self.folder):
            if step.words:
                assert cli.main(step.words) == 0, step.text
            elif step.language == "python" and "__main__" not in step.text:
                exec(compile(step.text, "block of the README", "exec"), {"__name__": "__main__"})
            else:
                self.spawned(step)

    def spawned(self, step: Step) -> None:
        """In a process of its own: a shell's work, or a script that starts processes."""
        (self.folder / "block.py").write_text(step.text, encoding="utf-8")
        command = ["sh", "-eu", "-c", step.text] if step.language == "sh" else [sys.executable, "block.py"]
        done = subprocess.run(command, env=self.environment, capture_output=True, text=True, timeout=HANG)
        assert done.returncode == 0, f"{step.text}\n{done.stdout}\n{done.stderr}"
        assert "Traceback" not in done.stderr


@pytest.fixture(scope="module")
def walks(tmp_path_factory):
    """For every README a folder of its own, and an environment in which `keyaction` is this program."""
    programs = tmp_path_factory.mktemp("bin")
    for name, words in {"keyaction": "-m keyaction", "python": "", "python3": ""}.items():
        program = programs / name
        program.write_text(f'#!/bin/sh\nexec "{sys.executable}" {words} "$@"\n', encoding="utf-8")
        program.chmod(0o755)
    known = {**os.environ, "PATH": f"{programs}{os.pathsep}{os.environ['PATH']}", "MPLBACKEND": "agg"}
    return {name: Walk(steps, tmp_path_factory.mktemp("readme"), known) for name, steps in STEPS.items()}


EACH = [(name, i) for name, steps in STEPS.items() for i in range(len(steps))]


def title(name: str, i: int) -> str:
    first = " ".join(STEPS[name][i].text.split("#")[0].split()[:3])
    return f"{name}-{i + 1:02d}-{first}"


LONGER = [one if one[0] == "README.md" else pytest.param(*one, marks=pytest.mark.long) for one in EACH]
"""The rooms' own READMEs are walked with --long; without it their commands are read, and not acted on."""


@pytest.mark.parametrize("name", STEPS)
def test_every_command_is_one_that_the_program_reads(name):
    for step in STEPS[name]:
        if step.words:
            parse(step.words)


@pytest.mark.skipif(os.name != "posix", reason="the blocks are for a POSIX shell")
@pytest.mark.parametrize(("name", "index"), LONGER, ids=[title(*one) for one in EACH])
def test_the_blocks_run_in_order(walks, name, index):
    if "import xarray" in STEPS[name][index].text and find_spec("xarray") is None:
        pytest.skip("xarray is not installed")
    walks[name].to(index)


def test_blocks_are_found_and_cut_into_commands():
    assert all(any(step.language == language for step in STEPS["README.md"]) for language in ("sh", "python"))
    assert commands("keyaction a b  # c\n\n# only a remark\nkeyaction d\n") == ["keyaction a b  # c", "keyaction d"]
    for whole in ("cd x\nls\n", "A=1 ls\nls\n", "ls \\\n  -l\n", "cat << E\nx\nE\n", "for i in 1\ndo ls\ndone\n"):
        assert commands(whole) == [whole]
    assert Step("sh", "keyaction tune a --pluck '150 gf'  # note").words == ["tune", "a", "--pluck", "150 gf"]
    for shell in (
        "keyaction run *.toml",
        "keyaction check a | head",
        "keyaction a && keyaction b",
        "ls",
        "keyaction $A",
    ):
        assert Step("sh", shell).words == []
    assert Step("python", "keyaction").words == []


def test_the_files_and_links_that_are_named_are_there():
    for path in READMES:
        for target in re.findall(r"\]\(([^)#]+)\)", path.read_text(encoding="utf-8")):
            if "://" not in target:
                assert (path.parent / target).exists(), (path, target)


def test_the_options_that_the_text_names_exist():
    known = {"--help", *re.findall(r"--[a-z][a-z-]+", " ".join(_helps()))}
    for path in READMES:
        for option in set(re.findall(r"`(--[a-z][a-z-]+)", path.read_text(encoding="utf-8"))):
            assert option in known, (path, option)


def _helps():
    made = parser()
    yield made.format_help()
    for action in made._actions:
        if isinstance(action.choices, dict):
            yield from (inner.format_help() for inner in action.choices.values())
    told = StringIO()
    with redirect_stdout(told), suppress(SystemExit):
        parse(["sweep", "show", "--help"])  # whose options stand in no parser of the others
    yield told.getvalue()


def test_the_readme_warns_that_a_shared_cache_folder_is_code_that_is_run():
    from keyaction.sim.code.cache import CACHE

    (told,) = [" ".join(one.split()) for one in TEXT.split("\n\n") if f"`{CACHE}`" in one and "cache folder" in one]
    assert "holds code that is run" in told and "share it only with people" in told
