"""Words that people of the trade read: none of the workshop of this program, one name for a thing."""

import argparse
import re

import pytest

from keyaction.sim.commands.parser import parser
from keyaction.sim.compare.rod_facts import FACTS
from keyaction.sim.compare.trackers import OF_TRACKERS
from keyaction.sim.figures.columns import OVER_COMPASS, QUANTITIES

INSIDE = (
    "fingerprint",
    "lanes",
    "judged by",
    "fitted plane",
    "least wave",
    "turns round",
    "is wanted: ",
    "mass at the key",
)
"""Names of the program's inside, and turns of phrase that nobody understood."""


def parsers(one):
    """A parser and all below it."""
    yield one
    for action in one._actions:
        if isinstance(action, argparse._SubParsersAction):
            for child in action.choices.values():
                yield from parsers(child)


def helps():
    return {one.prog: " ".join(one.format_help().split()) for one in parsers(parser())}


@pytest.mark.parametrize("word", INSIDE)
def test_no_help_speaks_of_the_programs_inside(word):
    assert [name for name, text in helps().items() if word in text] == []


@pytest.mark.parametrize("word", INSIDE)
def test_no_label_speaks_of_the_programs_inside(word):
    labels = [one.label for one in (*QUANTITIES.values(), *OVER_COMPASS.values(), *OF_TRACKERS.values())]
    labels += [label for _, label, _ in FACTS.values()]
    assert [label for label in labels if re.search(word, label)] == []
