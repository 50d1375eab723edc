"""A small study of the short case, and ways to run it: here, by the command, and to compare what came out."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import held
from patience import HANG
from runs import assert_same_variables
from short_case import write_case

from keyaction.cases.study.reader import Study
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.records import records
from keyaction.sim.sweep.sweep import load_study, study_result

HEAD = """\
format = 1

[study]
title = "Small"
case = "short.toml"
"""
VARY = """
[[vary]]
field = "pull-down.diameter"
low = "1 mm"
high = "2 mm"

[[vary]]
name = "spring"
field = "pallet-spring.force"
scale = [0.9, 1.2]
"""
QUANTITIES = 'quantities = ["pluck_force", "opening_time", "train_frequency"]\n'
ONE_NOTE = 'notes = "C4"\nquantities = ["pluck_force", "effective_mass"]\n'
TUBES = """
[[vary]]
name = "wall"
field = "pull-down.wall"
low = "0.1 mm"
high = "0.7842105263157895 mm"

[set]
pull-down.section = "tube"
"""
"""A tube of 1.5 mm: a wall of more than 0.75 mm is impossible, which is a twentieth of the range."""
LATER = ("made",)
"""Of what travels with a dataset, all that may differ between two equal sweeps."""


def text(
    plan: str = 'plan = "random"\ndesigns = 24', vary: str = VARY, head: str = QUANTITIES + 'notes = "all"\n'
) -> str:
    """A study file; by default 24 designs at 8 notes in three blocks."""
    return f"{HEAD}{head}{plan}\n{vary}"


def write_study(folder: Path, *arguments: str, name: str = "small.toml", **options: str) -> Path:
    """A study file with its case beside it."""
    if not (folder / "short.toml").exists():
        write_case(folder)
    path = folder / name
    path.write_text(text(*arguments, **options), encoding="utf-8")
    return path


def small(folder: Path, *arguments: str, **options: str) -> Study:
    """The same, read."""
    return load_study(write_study(folder, *arguments, **options))


def command(*arguments: object, blocks: object = None, **options: Any) -> subprocess.Popen[str]:
    """`keyaction sweep ...` in a process of its own; with `blocks`, no block but the first so many gets done."""
    words = [sys.executable, held.__file__, "sweep", *map(str, arguments)]
    more = {} if blocks is None else {held.BLOCKS: str(blocks)}
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True, "env": environment(**more)}
    return subprocess.Popen(words, **{**pipes, **options})


def finished(*arguments: object) -> tuple[int, str, str]:
    """Exit status, output and complaints of `keyaction sweep ...`."""
    process = command(*arguments)
    output, complaints = process.communicate(timeout=HANG)
    return process.returncode, output, complaints


def wait_for_blocks(process: subprocess.Popen[str], count: int) -> int:
    """Read JSON lines of a sweep until `count` blocks are done; returns how many designs that were."""
    assert process.stdout is not None
    for line in process.stdout:
        told = json.loads(line)
        if told["event"] == "block":
            count -= 1
            if not count:
                return int(told["done"])
    raise AssertionError(process.stderr.read() if process.stderr else "ended too soon")


def children(pid: int) -> list[int]:
    """Worker processes of a process."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            parent = int((folder / "stat").read_text().rpartition(")")[2].split()[1])
            told = (folder / "cmdline").read_text()
        except OSError:
            continue
        if parent == pid and "spawn_main" in told:
            found.append(int(folder.name))
    return sorted(found)


def alive(pid: int) -> bool:
    """Whether a process is there and no zombie."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def assert_equal(one: Path | Result, other: Path | Result) -> None:
    """Two datasets are the same to the last bit."""
    left, right = (study_result(each) if isinstance(each, Path) else each for each in (one, other))
    assert list(left.variables) == list(right.variables)
    assert_same_variables(left, right)
    assert {k: v for k, v in left.about.items() if k not in LATER} == {
        k: v for k, v in right.about.items() if k not in LATER
    }


def kept_blocks(folder: Path) -> list[int]:
    """Numbers of the blocks that the folder of a sweep keeps, as they were finished."""
    found = [one for path in sorted((folder / "blocks").rglob("*.blocks")) for one in records(path, bodies=True)]
    return [one.head["block"]["index"] for one in found if one is not None]


def leftovers(folder: Path) -> list[str]:
    """Half-written files in the folder of a sweep."""
    return [path.name for path in folder.rglob("*") if path.name.endswith(".tmp")]


def environment(**more: str) -> dict[str, str]:
    """This process's environment with some more in it."""
    return {**os.environ, **more}
