"""An error that is only what compiled code made of Ctrl-C counts as Ctrl-C."""

import pytest

from keyaction.sim import cli
from keyaction.sim.processes.broken_off import broken_off
from keyaction.sim.run import task


def made_of(problem):
    try:
        try:
            raise problem
        except BaseException as first:
            raise SystemError("returned a result with an exception set") from first
    except SystemError as found:
        return found


def test_what_stands_behind_an_error():
    assert broken_off(made_of(KeyboardInterrupt()))
    assert not broken_off(made_of(ValueError("a slip")))
    looped = ValueError("its own cause")
    looped.__context__ = looped
    assert not broken_off(looped)


def test_a_note_is_not_told_as_failed_where_the_run_was_stopped(monkeypatch):
    def stopped(*_):
        raise made_of(KeyboardInterrupt())

    monkeypatch.setattr(task, "build_train", stopped)
    with pytest.raises(KeyboardInterrupt):
        task.work(task.Task(60, (), None, None, None))


def test_the_program_says_that_it_was_stopped(monkeypatch, capsys):
    def stopped(*_, **__):
        raise made_of(KeyboardInterrupt())

    monkeypatch.setattr("keyaction.sim.commands.start.start", stopped)
    assert cli.main(["--version"]) == cli.STOPPED
    assert capsys.readouterr().err == "stopped\n"
