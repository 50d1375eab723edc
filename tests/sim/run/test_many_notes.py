"""From eight notes on, repetition rates are searched in lanes and judged by SciPy: no note may suffer from it."""

import math
import sys
from dataclasses import replace

import numpy as np
import pytest
from runs import Told, arrays_equal
from short_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.figures.limits import AGREES
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.lanes.repetition import WORTH, judged_notes
from keyaction.sim.run import run as manual
from keyaction.sim.run.note import play_note
from keyaction.sim.run.run import run


# -- played in earnest -----------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def whole(short_case):
    assert len(short_case.compass) == WORTH
    return run(short_case)


def test_the_lanes_agree_with_scipy(whole, short_case):
    apart = run(short_case, "C4:G4:3")  # three notes: SciPy alone
    rows = [whole.index(note) for note in apart.notes]
    assert np.max(np.abs(whole["repetition_rate"][rows] - apart["repetition_rate"])) <= AGREES
    assert list(whole["repetition_limit"][rows]) == list(apart["repetition_limit"])
    for name in ("pluck_force", "speech_delay", "groove_pressure", "feel_down_force"):
        assert np.array_equal(whole[name][rows], apart[name]), name


def test_broken_off_and_taken_up_the_same(whole, tmp_path):
    case = read_case(write_case(tmp_path))
    with pytest.raises(KeyboardInterrupt):
        run(case, out=tmp_path / "some.h5", progress=Told(stop_after=5))
    told = Told()
    result = run(case, out=tmp_path / "some.h5", progress=told)
    assert len(told.kept) == 5 and len(told.played) == 3
    assert arrays_equal(result, whole)


def test_absurd_values_of_one_note_do_not_reach_the_others(whole, tmp_path, capfd):
    absurd = '\n[notes.E4.key]\ninertia = "1e-320 kg*m^2"\n[notes.E4.pull-down]\nmass = "1e-320 kg"\n'
    result = run(read_case(write_case(tmp_path, more=absurd)))
    others = np.arange(8) != 4
    assert all(result["status"][others] == "ok")
    assert np.array_equal(result["pluck_force"][others], whole["pluck_force"][others])
    assert np.max(np.abs(result["repetition_rate"] - whole["repetition_rate"])[others]) <= AGREES
    assert capfd.readouterr().err == ""


# -- who searches, with notes that are quickly played ----------------------------------------------------
RIGHT, WRONG = 16.5, 5.0


@pytest.fixture
def quick(monkeypatch, short_case):
    """Every note is a copy of one; its rate is what the lanes found, or RIGHT where SciPy searches."""
    one = play_note(60, train_of(short_case, 60), replace(short_case.strokes, repetition_highest=1.0))
    asked = []

    def play(note, train, strokes, tolerances, searched, judge):  # noqa: ARG001
        asked.append((note, searched, judge))
        rate = searched.rate if searched else RIGHT
        judged = RIGHT if searched and judge else math.nan
        return replace(one, note=note, quantities={**one.quantities, "repetition_rate": rate}, judged=judged)

    monkeypatch.setattr(manual, "play_note", play)
    return asked


def lanes_say(monkeypatch, rate):
    calls = []

    def found(trains, *_):
        calls.append(list(trains))
        return {note: Repetition(rate, "not empty", 9) for note in trains}

    monkeypatch.setattr(manual, "lane_rates", found)
    return calls


def test_where_the_lanes_are_confirmed_they_stand(quick, monkeypatch, short_case):
    calls = lanes_say(monkeypatch, RIGHT + 0.1)
    result = run(short_case)
    assert calls == [list(range(60, 68))]
    assert np.all(result["repetition_rate"] == RIGHT + 0.1)
    assert [note for note, searched, judge in quick if judge] == [60, 63, 67]
    assert len(quick) == 8 and all(searched for _, searched, _ in quick)


@pytest.mark.usefixtures("quick")
def test_where_scipy_disagrees_it_searches_all_and_nothing_unjudged_is_told_or_kept(monkeypatch, short_case):
    lanes_say(monkeypatch, WRONG)
    rates = []
    result = run(short_case, progress=lambda note, _: rates.append(note.quantities["repetition_rate"]))
    assert rates == [RIGHT] * 8
    assert np.all(result["repetition_rate"] == RIGHT)


@pytest.mark.parametrize("after", range(1, 8))
def test_a_disagreement_is_not_forgotten_when_broken_off(quick, tmp_path, monkeypatch, after):
    real = manual._results

    def judged_first(tasks, jobs):
        """As they may come from several workers: what could tell of the disagreement is done before the rest."""
        return real(sorted(tasks, key=lambda task: not task.judge), jobs)

    monkeypatch.setattr(manual, "_results", judged_first)
    lanes_say(monkeypatch, WRONG)
    case = read_case(write_case(tmp_path))
    told = Told(stop_after=after)
    with pytest.raises(KeyboardInterrupt):
        run(case, out=tmp_path / "some.h5", progress=told)
    quick.clear()
    result = run(case, out=tmp_path / "some.h5")
    assert np.all(result["repetition_rate"] == RIGHT)
    assert {note for note, _, _ in quick} == set(range(60, 68)) - set(told.played)


@pytest.mark.usefixtures("quick")
def test_few_notes_are_left_to_scipy(monkeypatch, short_case):
    calls = lanes_say(monkeypatch, WRONG)
    result = run(short_case, "C4:F#4")
    assert calls == []
    assert np.all(result["repetition_rate"] == RIGHT)


@pytest.mark.usefixtures("quick")
@pytest.mark.parametrize("how", ["numba is not there", "KEYACTION_PLAIN"])
def test_without_compiled_equations_there_are_no_lanes(monkeypatch, short_case, how):
    if how == "KEYACTION_PLAIN":
        monkeypatch.setenv("KEYACTION_PLAIN", "1")
    else:
        monkeypatch.setitem(sys.modules, "numba", None)
    monkeypatch.setattr(manual, "load_kernel", manual.load_kernel.__wrapped__)
    calls = lanes_say(monkeypatch, WRONG)
    assert np.all(run(short_case)["repetition_rate"] == RIGHT)
    assert calls == []


@pytest.mark.usefixtures("quick")
def test_lanes_that_break_are_done_without(monkeypatch, short_case):
    def broken(*_):
        raise RuntimeError("no such lane")

    monkeypatch.setattr(manual, "lane_rates", broken)
    assert np.all(run(short_case)["repetition_rate"] == RIGHT)


def test_the_judged_notes_are_spread_over_the_run():
    assert judged_notes(list(range(36, 92))) == {36, 63, 91}
    assert judged_notes([60, 61]) == {60, 61}
    assert judged_notes([]) == set()
