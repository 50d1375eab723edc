"""The command line as tests use it: in this process, or in one of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import held
import pytest
from patience import HANG

from keyaction.sim.cli import main


class Outcome(NamedTuple):
    """How a command ended and what it said."""

    status: int
    out: str
    err: str

    @property
    def lines(self) -> list[str]:
        return self.err.splitlines()


def said(capsys: pytest.CaptureFixture[str], *arguments: object) -> Outcome:
    """A command in this process."""
    capsys.readouterr()
    try:
        status = main([str(argument) for argument in arguments])
    except SystemExit as ended:
        status = int(ended.code or 0)
    told = capsys.readouterr()
    return Outcome(status, told.out, told.err)


def complaint(capsys: pytest.CaptureFixture[str], *arguments: object) -> str:
    """The one line with which a command refuses wrong input, saying nothing else."""
    status, out, err = said(capsys, *arguments)
    assert (status, out, len(err.splitlines())) == (2, "", 1), err
    return err


class Keyaction:
    """Runs commands in this process."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.folder, self.capsys = folder, capsys

    def __call__(self, *arguments: object) -> Outcome:
        return said(self.capsys, *arguments)

    def tree(self) -> dict[str, bytes]:
        return tree(self.folder)


def tree(folder: Path) -> dict[str, bytes]:
    """Every file below a folder with its content."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def start(folder: Path, *arguments: object, only: str | None = None, **options: object) -> subprocess.Popen[str]:
    """A command in a process and a process group of its own; with `only`, no note but those (numbers) gets done."""
    program = ["-m", "keyaction"] if only is None else [str(Path(held.__file__))]
    return subprocess.Popen(
        [sys.executable, *program, *map(str, arguments)],
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        env={**os.environ, "COLUMNS": "80"} | ({} if only is None else {held.NOTES: only}),
        **options,  # type: ignore[call-overload]
    )


def ended(process: subprocess.Popen[str], timeout: float = HANG) -> Outcome:
    """Waits for a command."""
    try:
        out, err = process.communicate(timeout=timeout)
    except subprocess.TimeoutExpired:
        process.kill()
        raise
    return Outcome(process.returncode, out, err)


def group(leader: int) -> list[int]:
    """Living processes of a process group."""
    found = []
    for folder in Path("/proc").iterdir():
        if folder.name.isdigit():
            try:
                state = (folder / "stat").read_text().rsplit(")", 1)[1].split()
            except OSError:
                continue
            if int(state[2]) == leader and state[0] != "Z":
                found.append(int(folder.name))
    return found
