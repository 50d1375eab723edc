"""Nothing lost: real processes killed at any moment, and what resuming makes of it."""

from __future__ import annotations

import json
import os
import signal

import pytest
from deadly import VICTIM, deadly, dies
from patience import HANG, wait_for
from small_study import (
    alive,
    assert_equal,
    children,
    command,
    kept_blocks,
    leftovers,
    small,
    text,
    wait_for_blocks,
    write_study,
)

from keyaction.sim.cli import main
from keyaction.sim.files.problem import Unreadable
from keyaction.sim.files.records import records
from keyaction.sim.processes.tasks import NoProcesses
from keyaction.sim.sweep import kept_blocks as keeping
from keyaction.sim.sweep import pool as sweep_pool
from keyaction.sim.sweep.folder import StudyFolder
from keyaction.sim.sweep.sweep import Refused, load_study, run_study, study_result

pytestmark = pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal on this system")

DESIGNS, BLOCKS = 48, 6
LONG = f'plan = "random"\ndesigns = {DESIGNS}'
"""Six blocks of 64 designs."""


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """The long study, swept without interruption in this process."""
    folder = tmp_path_factory.mktemp("whole")
    run_study(small(folder, LONG), folder / "out", jobs=1, judge=0)
    return folder / "out"


@pytest.fixture
def study(tmp_path):
    return write_study(tmp_path, LONG)


def words(study, jobs):
    return (study, "--out", study.parent / "out", "--jobs", jobs, "--judge", 0, "--progress", "json")


def resume(study):
    """Go on in this process, which is quicker than a new one."""
    run_study(load_study(study), study.parent / "out", jobs=1, judge=0, resume=True)


def only_file(folder):
    (found,) = (folder / "blocks").rglob("*.blocks")
    return found


@pytest.mark.one_in(2)
@pytest.mark.parametrize(("jobs", "after"), [(2, 3), (1, 1)])
def test_killed_and_resumed_the_same_to_the_last_bit(study, whole, capsys, jobs, after):
    out = study.parent / "out"
    process = command(*words(study, jobs), blocks=after)
    wait_for_blocks(process, after)
    workers = children(process.pid)
    assert len(workers) == (0 if jobs == 1 else jobs)
    process.kill()
    process.wait()
    kept, before = kept_blocks(out), only_file(out).read_bytes()
    assert len(kept) == after
    assert not (out / "results.h5").exists()
    # They end with their parent, so that none goes on computing for nobody.
    assert wait_for(lambda: not any(map(alive, workers)))
    assert main(["sweep", *map(str, words(study, 1)), "--resume"]) == 0
    start = json.loads(capsys.readouterr().out.splitlines()[0])
    assert (start["event"], start["kept"]) == ("start", 64 * len(kept))
    assert only_file(out).read_bytes().startswith(before)
    assert sorted(kept_blocks(out)) == list(range(BLOCKS))
    assert_equal(out, whole)
    assert leftovers(out) == []


@pytest.mark.long
def test_killed_before_the_first_block(study, whole):
    out = study.parent / "out"
    process = command(*words(study, 2), blocks=0)
    assert wait_for(lambda: (out / "study.json").exists() or process.poll() is not None)
    assert process.poll() is None
    process.kill()
    process.wait()
    resume(study)
    assert_equal(out, whole)


def test_what_a_kill_may_leave_half_written_is_put_right(study, whole):
    out = study.parent / "out"

    def stop(state):
        if state.done >= 192:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_study(load_study(study), out, jobs=1, judge=0, progress=stop)
    path = only_file(out)
    first, second, third = (one for one in records(path) if one is not None)
    content = bytearray(path.read_bytes())
    content[first.body[0] + 9] ^= 1  # a figure
    content[second.at + 3] ^= 1  # the mark by which a record is found
    path.write_bytes(content[: third.at + third.size - 200])  # and the last one cut short
    (path.parent / ".00.blocks.abc.tmp").write_bytes(content[:100])
    with pytest.raises(Unreadable, match=r"00\.blocks: damaged.*--resume"):
        study_result(out)
    (out / ".study.json.abc.tmp").write_bytes(b"{")
    told = []
    run_study(load_study(study), out, jobs=1, judge=0, resume=True, progress=told.append)
    assert told[0].kept == 0
    assert_equal(out, whole)
    assert leftovers(out) == []


@pytest.mark.long
def test_many_files_of_blocks_and_few_in_a_folder(tmp_path, whole, monkeypatch):
    monkeypatch.setattr(keeping, "FULL", 1)
    monkeypatch.setattr(keeping, "TOGETHER", 4)
    out = tmp_path / "out"
    run_study(small(tmp_path, LONG), out, jobs=1, judge=2)
    assert [path.relative_to(out).as_posix() for path in sorted(out.rglob("*.blocks"))] == [
        *(f"blocks/00/0{k}.blocks" for k in range(4)),
        *(f"blocks/01/0{k}.blocks" for k in range(2)),
    ]
    assert kept_blocks(out) == [0, 5, 1, 2, 3, 4]  # those that SciPy judges first
    told = []
    run_study(load_study(tmp_path / "small.toml"), out, jobs=1, judge=0, resume=True, progress=told.append)
    assert told[0].kept == 4 * 64  # judged otherwise, two are others
    assert kept_blocks(out) == [0, 5, 1, 2, 3, 4, 0, 5]
    assert_equal(out, whole)


def test_resuming_a_whole_sweep_computes_nothing(whole):
    told = []
    run_study(load_study(whole.parent / "small.toml"), whole, jobs=1, judge=0, resume=True, progress=told.append)
    assert [(state.done, state.kept) for state in told] == [(8 * DESIGNS, 8 * DESIGNS)]


def test_a_remark_in_the_case_or_the_study_does_not_keep_a_sweep_from_going_on(tmp_path):
    study = small(tmp_path, 'plan = "random"\ndesigns = 2')
    run_study(study, tmp_path / "out", jobs=1, judge=0)
    for name in ("short.toml", "small.toml", "chest.csv"):
        path = tmp_path / name
        path.write_text("# looked at again\n" + path.read_text(encoding="utf-8"), encoding="utf-8")
    told = []
    again = load_study(tmp_path / "small.toml")
    run_study(again, tmp_path / "out", jobs=1, judge=0, resume=True, progress=told.append)
    assert [(state.done, state.kept) for state in told] == [(16, 16)]
    case = tmp_path / "short.toml"
    case.write_text(case.read_text(encoding="utf-8").replace('force = "3 N"', 'force = "3.1 N"'), encoding="utf-8")
    with pytest.raises(Refused, match=r"the case short\.toml has changed"):
        run_study(load_study(tmp_path / "small.toml"), tmp_path / "out", jobs=1, judge=0, resume=True)


def test_more_designs_are_added_and_equal_a_sweep_that_had_them_from_the_start(tmp_path, whole):
    study = small(tmp_path, LONG.replace(str(DESIGNS), "12"))  # the second block is half full
    run_study(study, tmp_path / "out", jobs=1, judge=0)
    assert study_result(tmp_path / "out")["design"].size == 12
    (tmp_path / "small.toml").write_text(text(LONG), encoding="utf-8")
    told = []
    run_study(load_study(tmp_path / "small.toml"), tmp_path / "out", jobs=1, judge=0, resume=True, progress=told.append)
    assert told[0].kept == 64
    assert_equal(tmp_path / "out", whole)


def test_a_plan_that_cannot_grow_is_refused(tmp_path):
    run_study(small(tmp_path, 'plan = "latin"\ndesigns = 2'), tmp_path / "out", jobs=1, judge=0)
    (tmp_path / "small.toml").write_text(text('plan = "latin"\ndesigns = 3'), encoding="utf-8")
    with pytest.raises(Refused, match="a latin plan cannot grow from 2 designs to 3"):
        run_study(load_study(tmp_path / "small.toml"), tmp_path / "out", jobs=1, resume=True)


def test_ctrl_c_stops_at_once_and_says_how_to_go_on(study, whole):
    out = study.parent / "out"
    process = command(*words(study, 2), blocks=2, start_new_session=True)
    wait_for_blocks(process, 2)
    workers = children(process.pid)
    os.killpg(process.pid, signal.SIGINT)  # as a terminal does: to the whole group
    # At once: the blocks in hand would never be done.
    _, complaints = process.communicate(timeout=HANG)
    assert process.returncode == 130
    assert (
        complaints == f"stopped; what was finished is kept. Go on with: keyaction sweep {study} --out {out} --resume\n"
    )
    assert not any(map(alive, workers))
    assert len(kept_blocks(out)) == 2
    assert leftovers(out) == []
    resume(study)
    assert_equal(out, whole)


def test_two_writers_cannot_be_in_one_folder(study, whole, capsys):
    out = study.parent / "out"
    held = StudyFolder(out, "")
    try:
        assert main(["sweep", str(study), "--out", str(out), "--jobs", "1"]) == 2
        assert "another sweep is writing here" in capsys.readouterr().err
        assert not (out / "study.json").exists()
    finally:
        held.release()
    assert main(["sweep", *map(str, words(study, 1))]) == 0
    assert_equal(out, whole)


# -- workers that die ------------------------------------------------------------------------------------
def test_a_killed_worker_s_blocks_are_computed_again(study, whole):
    out = study.parent / "out"
    process = command(*words(study, 2))
    wait_for_blocks(process, 2)
    os.kill(children(process.pid)[0], signal.SIGKILL)
    output, complaints = process.communicate(timeout=HANG)
    assert (process.returncode, complaints) == (0, "")
    done = json.loads(output.splitlines()[-1])
    assert (done["event"], done["counts"]) == ("done", {"ok": 8 * DESIGNS})
    assert_equal(out, whole)


@pytest.mark.long
def test_a_block_that_kills_its_worker_twice_is_lost_until_resumed(study, whole, monkeypatch):
    out = study.parent / "out"
    monkeypatch.setattr(sweep_pool, "compute_packed", deadly)
    monkeypatch.setenv(VICTIM, "4")
    found = run_study(load_study(study), out, jobs=2, judge=0)
    assert found.counts == {"ok": 8 * DESIGNS - 64, "lost": 64}
    assert found.reasons == [(f"lost: {sweep_pool.DIED}", 64)]
    data, right = study_result(out), study_result(whole)
    rows = slice(32, 40)
    assert set(data["status"][rows].ravel()) == {f"lost: {sweep_pool.DIED}"}
    assert data["input_spring"] == pytest.approx(right["input_spring"], abs=0)
    monkeypatch.undo()
    told = []
    run_study(load_study(study), out, jobs=1, judge=0, resume=True, progress=told.append)
    assert told[0].kept == 8 * DESIGNS - 64
    assert_equal(out, whole)


def test_workers_that_all_die_end_the_sweep_with_a_reason(tmp_path, monkeypatch):
    monkeypatch.setattr(sweep_pool, "compute_packed", dies)
    study = small(tmp_path, 'plan = "random"\ndesigns = 16')
    with pytest.raises(NoProcesses, match="they die at once"):
        run_study(study, tmp_path / "out", jobs=2, judge=0)
