"""A short round of the fuzz programs with every run of the tests; the long ones are run by hand."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

import harness
import results
import texts

COUNTS = {
    "case-checked": 3,
    "study": 15,
    "damaged-sweep": 15,
    "foreign-shown": 8,
    "foreign-compared": 8,
    "foreign": 6,
    "foreign-tree": 6,
    "manifests": 6,
    "by-command": 1,
}
"""Inputs of the slower kinds; of the others 30."""


@pytest.mark.parametrize("kind", [*texts.KINDS, *results.KINDS])
def test_a_short_round(kind):
    tally = harness.Tally()
    use = harness.quietly({**texts.KINDS, **results.KINDS}[kind])
    for number in range(COUNTS.get(kind, 30)):
        harness.one(use, 7, kind, number, tally)
    assert not tally.findings, harness.told({kind: tally})
    assert tally.outcomes[harness.REFUSED] > 0 or tally.count < 10


@pytest.mark.parametrize("slip", [ValueError("x"), KeyError("x"), harness.Hang("x"), MemoryError(), RecursionError()])
def test_a_slip_would_be_found(slip, tmp_path):
    def use(_, folder):
        (folder / "input").write_text("what did it")
        raise slip

    tally = harness.Tally()
    harness.one(use, 1, "some", 4711, tally, tmp_path)
    assert tally.outcomes == {harness.FINDING: 1}
    (kept,) = tmp_path.iterdir()
    assert (kept / "input").read_text() == "what did it"
    assert "--seed 1 --kind some --number 4711" in (kept / "how.txt").read_text()


def test_what_hangs_is_found(monkeypatch):
    def use(_, __):
        while True:
            pass

    monkeypatch.setattr(harness, "HANG", 0.1)
    tally = harness.Tally()
    harness.one(use, 1, "some", 0, tally)
    assert tally.outcomes == {harness.FINDING: 1}


@pytest.mark.parametrize("message", ["", "a\x1b[31mb", "x" * 3000, "line\n" * 60_000])
def test_a_refusal_that_nobody_can_read_is_a_finding(message):
    def use(_, __):
        raise harness.NothingToRefuse(message)

    tally = harness.Tally()
    harness.one(use, 1, "some", 0, tally)
    assert sum(tally.outcomes.values()) == 1
    if "\x1b" not in message and len(message) != 3000:  # those the console makes legible
        assert tally.outcomes == {harness.FINDING: 1}
