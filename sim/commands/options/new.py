"""The options of keyaction new."""

from __future__ import annotations

import argparse

from keyaction.sim.commands.options.declare import declare


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "new",
        "write a commented starting case",
        "Write NAME.toml here: a small case that runs as it is, every field explained.",
        "new chapel-sketch",
    )
    parser.add_argument("name", metavar="NAME", help="name of the case; NAME.toml must not exist yet")
