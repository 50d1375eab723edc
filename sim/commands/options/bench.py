"""The options of keyaction bench."""

from __future__ import annotations

import argparse

from keyaction.sim.commands.options.declare import add_case, declare

_STATUSES = """\
exit status:
  0  closed by the page or by Ctrl-C
  1  a slip of the program
  2  wrong input; nothing was served
  130  stopped by Ctrl-C before the page was served"""


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "bench",
        "move a spring, see and compare the touch, in the browser",
        "Open a page in the browser on which any field of a note is moved within its usual range, and see at once what "
        "comes of it: feel curve, path of a stroke, where the key gives way, masses, repetition, weigh-off, the whole "
        "keyboard. What was tried is kept, compared, and saved as a new case. The page is served from this machine "
        "alone, at an address with a token that only it knows; nothing is written but what you save. Ctrl-C ends it, "
        "and so does the page.",
        "bench demo-wood",
        "bench demo-instrument --division high --note C3",
        "bench demo-wood --no-browser --port 8765",
        statuses=_STATUSES,
    )
    add_case(parser, one=True)
    parser.add_argument("--note", help="the note that the page begins with (default: the middle one)")
    parser.add_argument("--port", type=int, default=0, help="where to listen (default: any free port)")
    parser.add_argument("--no-browser", action="store_true", help="print the address and open nothing")
