"""Repetition rates are searched in lanes and confirmed by SciPy: no note may suffer from it."""

import sys
from dataclasses import replace

import numpy as np
import pytest
from runs import Told, arrays_equal
from short_case import ABSURD, write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.figures.limits import AGREES
from keyaction.sim.figures.rates import confirmed
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.run import run as manual
from keyaction.sim.run import task
from keyaction.sim.run.note import play_note
from keyaction.sim.run.run import run


# -- played in earnest -----------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def whole(short_case):
    return run(short_case)


@pytest.mark.long
def test_the_lanes_agree_with_scipy(whole, short_case, monkeypatch):
    monkeypatch.setattr(manual, "_in_lanes", lambda *_: {})
    apart = run(short_case, "C4:G4:3")  # SciPy alone
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
    result = run(read_case(write_case(tmp_path, more=ABSURD.format(note="E4"))))
    others = np.arange(8) != 4
    assert all(result["status"][others] == "ok")
    assert np.array_equal(result["pluck_force"][others], whole["pluck_force"][others])
    assert np.max(np.abs(result["repetition_rate"] - whole["repetition_rate"])[others]) <= AGREES
    assert capfd.readouterr().err == ""


# -- who searches, with notes that are quickly played ----------------------------------------------------
RIGHT, OTHER = 16.5, 5.0


@pytest.fixture
def quick(monkeypatch, short_case):
    """Every note is a copy of one; its rate is what the lanes found, or RIGHT where SciPy searches."""
    one = play_note(60, train_of(short_case, 60), replace(short_case.strokes, repetition_highest=1.0))
    asked = []

    def play(note, train, strokes, tolerances, searched, beside):  # noqa: ARG001
        asked.append((note, searched))
        rate = searched.rate if searched else RIGHT
        return replace(one, note=note, quantities={**one.quantities, "repetition_rate": rate})

    monkeypatch.setattr(task, "play_note", play)
    return asked


def lanes_say(monkeypatch, rate):
    calls = []

    def found(trains, *_):
        calls.append(list(trains))
        return {note: Repetition(rate, "not empty", 9) for note in trains}

    monkeypatch.setattr(manual, "lane_rates", found)
    return calls


def test_every_note_is_given_what_the_lanes_found_to_confirm(quick, monkeypatch, short_case):
    calls = lanes_say(monkeypatch, OTHER)
    result = run(short_case)
    assert calls == [list(range(60, 68))]
    assert np.all(result["repetition_rate"] == OTHER)
    assert len(quick) == 8 and all(searched for _, searched in quick)


@pytest.mark.parametrize("after", [1, 7])
def test_what_is_taken_up_is_searched_no_more(quick, tmp_path, monkeypatch, after):
    calls = lanes_say(monkeypatch, OTHER)
    case = read_case(write_case(tmp_path))
    told = Told(stop_after=after)
    with pytest.raises(KeyboardInterrupt):
        run(case, out=tmp_path / "some.h5", progress=told)
    quick.clear()
    calls.clear()
    run(case, out=tmp_path / "some.h5")
    left = set(range(60, 68)) - set(told.played)
    assert {note for note, _ in quick} == left == set(calls[0])


@pytest.mark.usefixtures("quick")
@pytest.mark.parametrize("how", ["numba is not there", "KEYACTION_PLAIN"])
def test_without_compiled_equations_there_are_no_lanes(monkeypatch, short_case, how):
    if how == "KEYACTION_PLAIN":
        monkeypatch.setenv("KEYACTION_PLAIN", "1")
    else:
        monkeypatch.setitem(sys.modules, "numba", None)
    monkeypatch.setattr(manual, "load_kernel", manual.load_kernel.__wrapped__)
    calls = lanes_say(monkeypatch, OTHER)
    assert np.all(run(short_case)["repetition_rate"] == RIGHT)
    assert calls == []


@pytest.mark.usefixtures("quick")
def test_lanes_that_break_are_done_without(monkeypatch, short_case):
    def broken(*_):
        raise RuntimeError("no such lane")

    monkeypatch.setattr(manual, "lane_rates", broken)
    assert np.all(run(short_case)["repetition_rate"] == RIGHT)


# -- a rate found elsewhere, confirmed -------------------------------------------------------------------
def saying(rate):
    """A judge whose boundary is known; the rates that it was asked."""
    asked = []

    def verdicts(tenths, which):  # noqa: ARG001
        asked.extend(int(one) for one in tenths)
        return ["" if one <= 10 * rate + 1e-9 else "not empty" for one in tenths]

    return verdicts, asked


@pytest.mark.parametrize(("told", "right"), [(9.7, 9.7), (20.0, 20.0), (0.0, 0.0), (1.0, 1.0)])
def test_a_right_rate_is_confirmed_by_two_questions_at_most(told, right):
    verdicts, asked = saying(right)
    found = confirmed(Repetition(told, "not full", 9), verdicts, 20.0)
    assert found.rate == right and len(asked) <= 2


@pytest.mark.parametrize("right", [9.1, 9.6, 10.2, 13.0, 3.4, 0.0, 20.0])
def test_a_wrong_rate_is_put_right_wherever_the_right_one_is(right):
    verdicts, _ = saying(right)
    assert confirmed(Repetition(9.7, "not full", 9), verdicts, 20.0).rate == pytest.approx(right)


@pytest.mark.parametrize("right", [0.0, 1.0, 1.4, 7.0])
def test_a_note_that_the_lanes_give_no_rate_is_asked_again(right):
    verdicts, _ = saying(right)
    assert confirmed(Repetition(0.0, "not full", 9), verdicts, 20.0).rate == pytest.approx(right)
