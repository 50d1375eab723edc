"""keyaction new: a commented starting case."""

from __future__ import annotations

import argparse
import json
from importlib.resources import files
from pathlib import Path

from keyaction.cases.text.signs import unseen
from keyaction.sim.commands.common import BAD_INPUT, DONE
from keyaction.sim.commands.console import err, out
from keyaction.sim.files.text import write_text


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    path = Path(options.name if options.name.endswith(".toml") else f"{options.name}.toml")
    if wrong := _unfit(path):
        shown = "".join(sign if sign.isprintable() else "?" for sign in str(path))
        err().print(f"{shown}: {wrong}", markup=False)
        return BAD_INPUT
    if path.exists():
        err().print(f"{path}: is there already; choose another name or move it away", markup=False)
        return BAD_INPUT
    text = files("keyaction.cases").joinpath("templates/start.toml").read_text(encoding="utf-8")
    write_text(path, text.replace("{title}", _quoted(path.stem)))
    out().print(f"{path} written. Next: keyaction check {path}", markup=False, soft_wrap=True)
    return DONE


def _unfit(path: Path) -> str:
    """Why a name cannot be a case's; it also becomes its title."""
    if not path.stem.strip(" .") or path.name == ".toml":
        return "a name is needed, such as my-action"
    if sign := unseen(path.name.replace("\n", "\r")):
        return f"the name holds {sign}; leave it out"
    if not path.name.isprintable():
        return "the name holds signs that are no text; choose another name"
    return ""


def _quoted(name: str) -> str:
    """The name as it may stand between the quotes of a TOML text."""
    return json.dumps(name, ensure_ascii=False)[1:-1]
