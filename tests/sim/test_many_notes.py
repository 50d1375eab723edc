"""From eight notes on, repetition rates are searched in lanes and judged by SciPy: no note may suffer from it."""

import sys

import numpy as np
import pytest
from keyaction.cases.reader import read_case
from keyaction.sim import manual
from keyaction.sim.manual import run
from keyaction.sim.repetition import Repetition
from keyaction.sim.search import AGREES, WORTH, judged_notes
from short_case import ABSURD, write_case
from test_manual import Told, arrays_equal


@pytest.fixture(scope="module")
def whole(short_case):
    assert len(short_case.compass) == WORTH
    return run(short_case)


def test_the_lanes_agree_with_scipy_on_every_note(whole, short_case):
    apart = run(short_case, "C4:G4:3")  # three notes: SciPy alone
    rows = [whole.index(note) for note in apart.notes]
    assert np.max(np.abs(whole["repetition_rate"][rows] - apart["repetition_rate"])) <= AGREES
    assert list(whole["repetition_limit"][rows]) == list(apart["repetition_limit"])
    for name in ("pluck_force", "speech_delay", "groove_pressure", "feel_down_force"):
        assert np.array_equal(whole[name][rows], apart[name]), name


def test_in_parallel_and_one_by_one_the_same(whole, short_case):
    assert arrays_equal(run(short_case, jobs=2), whole)


def test_broken_off_and_taken_up_the_same(whole, tmp_path):
    case = read_case(write_case(tmp_path))
    with pytest.raises(KeyboardInterrupt):
        run(case, out=tmp_path / "some.h5", progress=Told(stop_after=5))
    told = Told()
    result = run(case, out=tmp_path / "some.h5", progress=told)
    assert len(told.kept) == 5 and len(told.played) == 3
    assert arrays_equal(result, whole)


@pytest.mark.parametrize(
    "absurd",
    [ABSURD.format(note="E4"), '\n[notes.E4.key]\ninertia = "1e-320 kg*m^2"\n[notes.E4.pull-down]\nmass = "1e-320 kg"\n'],
    ids=["groove", "inertia"],
)
def test_absurd_values_of_one_note_do_not_reach_the_others(whole, tmp_path, absurd, recwarn):
    result = run(read_case(write_case(tmp_path, more=absurd)))
    others = np.arange(8) != 4
    assert all(result["status"][others] == "ok")
    assert np.array_equal(result["pluck_force"][others], whole["pluck_force"][others])
    assert np.max(np.abs(result["repetition_rate"] - whole["repetition_rate"])[others]) <= AGREES
    assert not [warning for warning in recwarn if issubclass(warning.category, RuntimeWarning)]


def wrong(trains, *_):
    return {note: Repetition(5.0, "not full", 9) for note in trains}


def test_where_scipy_disagrees_it_searches_all(whole, short_case, monkeypatch):
    monkeypatch.setattr(manual, "lane_rates", wrong)
    result = run(short_case)
    assert np.max(np.abs(result["repetition_rate"] - whole["repetition_rate"])) <= AGREES
    assert "the groove did not fill" not in result["repetition_limit"]


@pytest.mark.parametrize("after", [1, 4])
def test_a_disagreement_is_not_forgotten_when_broken_off(tmp_path, monkeypatch, after):
    monkeypatch.setattr(manual, "lane_rates", wrong)
    case = read_case(write_case(tmp_path))
    with pytest.raises(KeyboardInterrupt):
        run(case, out=tmp_path / "some.h5", progress=Told(stop_after=after))
    result = run(case, out=tmp_path / "some.h5")
    assert np.min(result["repetition_rate"]) > 10.0


def test_nothing_unjudged_is_kept(tmp_path, monkeypatch):
    """Until SciPy has agreed, a note that rests on the lanes is not told of."""
    monkeypatch.setattr(manual, "lane_rates", wrong)
    case = read_case(write_case(tmp_path))
    rates = []
    run(case, progress=lambda result, _: rates.append(result.quantities["repetition_rate"]))
    assert len(rates) == 8
    assert min(rates) > 10.0


def test_without_numba_scipy_searches_all(whole, short_case, monkeypatch):
    monkeypatch.setitem(sys.modules, "numba", None)
    monkeypatch.setattr(manual, "load_kernel", manual.load_kernel.__wrapped__)
    monkeypatch.setattr(manual, "play_note", lambda note, *_: manual.failed_note(note, "not played here"))
    seen = []
    monkeypatch.setattr(manual, "lane_rates", lambda *_: seen.append(1))
    result = run(short_case)
    assert len(result.notes) == 8
    assert seen == []


def test_lanes_that_break_are_done_without(whole, short_case, monkeypatch):
    def broken(*_):
        raise RuntimeError("no such lane")

    monkeypatch.setattr(manual, "lane_rates", broken)
    result = run(short_case)
    assert np.max(np.abs(result["repetition_rate"] - whole["repetition_rate"])) <= AGREES


def test_the_judged_notes_are_spread_over_the_run():
    assert judged_notes(list(range(36, 92))) == {36, 63, 91}
    assert judged_notes([60, 61]) == {60, 61}
    assert judged_notes([]) == set()
