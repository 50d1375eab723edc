"""Every observation of the table that `keyaction check --published` shows, asserted one by one."""

import re
from collections import Counter
from pathlib import Path

import pytest

from keyaction.sim.published.observation import TRUST, Near, observe
from keyaction.sim.published.table import observations

ROWS = observations()
README = Path(__file__).resolve().parents[2] / "README.md"


def named(row):
    return f"{row.subject}: {row.quantity}, {row.source.cite[:20]}"


@pytest.mark.parametrize("row", ROWS, ids=named)
def test_ours_is_as_near_as_it_must_be(row):
    found = observe(row)
    assert found.reason == ""
    figure = row.figure
    assert found.holds, f"published {figure.published(12)} {row.unit}, ours {found.ours!r}, allowed {figure.allowed()}"


def test_no_row_stands_there_twice():
    twice = [key for key, count in Counter((r.subject, r.quantity, r.source) for r in ROWS).items() if count > 1]
    assert twice == []


def test_a_wide_tolerance_says_why():
    # More than 1 % is more than the last digit of most: such a row has a reason of its own, or few digits.
    usual = Near(1.0, absolute=1.0).why
    wide = [row for row in ROWS if isinstance(row.figure, Near) and row.figure.room > 0.01 * abs(row.figure.value)]
    unsaid = [named(row) for row in wide if row.figure.why == usual and len(row.figure.published().strip("0.")) > 2]
    assert unsaid == []


def test_every_source_names_somebody_or_something_and_its_trust():
    for row in ROWS:
        assert len(row.source.cite) > 30, row.quantity


def test_the_readme_counts_what_is_in_the_table():
    text = " ".join(README.read_text(encoding="utf-8").split())
    told = re.search(
        r"sets (\d+) published observations of (\d+) sources .*?: (\d+) read in the original, (\d+) second-hand, "
        r"(\d+) from memory, (\d+) worked out ",
        text,
    )
    assert told, "the README no longer says how many observations there are"
    trusts = Counter(row.source.trust for row in ROWS)
    own = (len(ROWS), len({row.source for row in ROWS}), *(trusts[trust] for trust in TRUST))
    assert tuple(map(int, told.groups())) == own
