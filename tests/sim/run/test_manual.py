"""Many notes: in parallel, one failure apart, taken up where they were left, one writer at a time."""

import json
import os
import signal
import threading
import time
from dataclasses import replace
from pathlib import Path
from shutil import copytree

import numpy as np
import pytest
from patience import HANG
from runs import Told, arrays_equal
from short_case import ABSURD, write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import check_trains, select, train_of
from keyaction.models.notes import NoteProblem
from keyaction.models.train.train import TrainProblem
from keyaction.sim.files.hdf5 import load
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.motion.integrate import Tolerances
from keyaction.sim.processes import pool as workers
from keyaction.sim.run import run as manual
from keyaction.sim.run.about import fingerprint
from keyaction.sim.run.kept_notes import Busy, PartsFolder
from keyaction.sim.run.note import failed_note, play_note
from keyaction.sim.run.run import run


# -- many notes ------------------------------------------------------------------------------------------
def test_in_parallel_and_one_by_one_the_same_to_the_last_bit(short_case, short_result):
    told = Told()
    result = run(short_case, "C4:D4", jobs=2, progress=told)
    assert sorted(told.played) == [60, 61, 62]
    assert arrays_equal(result, short_result)


def test_the_order_of_the_notes_does_not_matter(short_case, short_result):
    assert arrays_equal(run(short_case, [62, 60, 61]), short_result)


def test_a_note_by_itself_is_the_same_note(short_case, short_result):
    alone = run(short_case, "C#4")
    assert alone.notes == ["C#4"]
    for name in ("pluck_force", "speech_delay", "repetition_rate", "groove_pressure"):
        assert np.array_equal(alone[name][0], short_result[name][1]), name
    assert np.isnan(alone["evenness"][0])


def test_a_note_that_fails_is_recorded_and_the_others_go_on(tmp_path, short_result):
    case = read_case(write_case(tmp_path, more=ABSURD.format(note="Cs4")))
    result = run(case, "C4:D4", out=tmp_path / "some.h5")
    assert list(result["status"] == "ok") == [True, False, True]
    reason = result["status"][1]
    assert reason.startswith("failed: its fastest vibration, ")
    assert "absurdly stiff or light; look at its sizes and measured figures with `keyaction check`" in reason
    assert np.isnan(result["pluck_force"][1])
    for name in ("pluck_force", "groove_pressure", "compliance_budget"):
        assert np.array_equal(result[name][[0, 2]], short_result[name][[0, 2]], equal_nan=True)
    assert np.isnan(result["evenness"]).all()  # no neighbour below has a figure
    assert arrays_equal(load(tmp_path / "some.h5"), result)


def test_a_result_of_failed_notes_alone_can_be_written_and_read(tmp_path):
    case = read_case(write_case(tmp_path, more=ABSURD.format(note="C4")))
    result = run(case, "C4", out=tmp_path / "some.h5")
    assert arrays_equal(load(tmp_path / "some.h5"), result)
    assert result["status"][0].startswith("failed")


def test_an_unforeseen_slip_in_one_note_is_its_own_affair(monkeypatch, short_case):
    real = manual._results

    def spoilt(tasks, count):
        return real([replace(task, parts=None) if task.note == 61 else task for task in tasks], count)

    monkeypatch.setattr(manual, "_results", spoilt)
    result = run(short_case, "C4:D4")
    assert list(result["status"] == "ok") == [True, False, True]
    assert result["status"][1].startswith("failed: TypeError: ")


def test_several_structures_in_one_manual(tmp_path, short_result):
    guides = 'guides = { breakaway = "0.05 N", angle = "5 deg", coefficient = 0.2 }'
    case = read_case(write_case(tmp_path, more=f"\n[notes.Cs4.pull-down]\n{guides}\n"))
    trains = check_trains(case, [60, 61, 62])
    assert trains[60].structure == trains[62].structure != trains[61].structure
    result = run(case, "C4:D4", out=tmp_path / "some.h5")
    assert list(result["status"]) == ["ok"] * 3
    for name in ("pluck_force", "friction_at_key", "mode_frequency", "figures"):
        held = [list(result["figure"]).index(figure) for figure in short_result["figure"]]
        found = result[name][:, held] if name == "figures" else result[name]
        assert np.array_equal(found[[0, 2]], short_result[name][[0, 2]]), name
    assert result.value("friction_at_key", "C#4") > short_result.value("friction_at_key", "C#4") + 0.02
    assert arrays_equal(load(tmp_path / "some.h5"), result)


# -- which notes -----------------------------------------------------------------------------------------
def test_notes_may_be_named_in_many_ways(short_case):
    assert select(short_case, None) == list(range(60, 68))
    assert select(short_case, "C4:G4:3") == [60, 63, 66]
    assert select(short_case, "D4,C4") == [62, 60]
    assert select(short_case, [65]) == [65]
    with pytest.raises(NoteProblem, match="the compass is C4 to G4"):
        select(short_case, "C2")


def test_a_defect_of_many_notes_is_told_once(tmp_path):
    case = read_case(write_case(tmp_path, ('at = "100 mm"\n', "")))
    with pytest.raises(TrainProblem) as caught:
        check_trains(case, case.compass)
    assert caught.value.defects == ("pallet-spring, field at: missing (every note)",)
    with pytest.raises(TrainProblem, match=r"\(note C4\)"):
        check_trains(case, [60])


def test_defects_of_some_notes_name_them(tmp_path, monkeypatch):
    case = read_case(write_case(tmp_path))

    def some(_, note):
        raise TrainProblem(["spring: too long"] if note > 60 else ["key: too short"])

    monkeypatch.setattr("keyaction.cases.action.trains.train_of", some)
    with pytest.raises(TrainProblem) as caught:
        check_trains(case, case.compass)
    assert caught.value.defects == (
        "key: too short (notes C4)",
        "spring: too long (notes C#4, D4, D#4, E4, F4, F#4 and others)",
    )


def test_the_fingerprint_follows_the_case_and_the_tolerances(tmp_path):
    case = read_case(write_case(tmp_path))
    same = read_case(write_case(tmp_path))
    other = read_case(write_case(tmp_path, ('force = "3 N"', 'force = "3.1 N"')))
    prints = {fingerprint(one, tolerances) for one in (case, same) for tolerances in (Tolerances(), Tolerances())}
    assert len(prints) == 1
    assert fingerprint(other, Tolerances()) not in prints
    assert fingerprint(case, Tolerances(relative=1e-6)) not in prints
    chest = tmp_path / "chest.csv"
    chest.write_text(chest.read_text().replace("264", "265"))
    assert fingerprint(read_case(tmp_path / "short.toml"), Tolerances()) not in prints


def test_remarks_are_no_part_of_the_fingerprint(tmp_path):
    # A remark in the case refused to go on with a sweep, and played every note of a run again.
    path = write_case(tmp_path)
    before = read_case(path).fingerprint
    text = path.read_text(encoding="utf-8")
    path.write_text("# a remark\n" + text.replace("\n[[train]]", "\n\n# another\n[[train]]"), encoding="utf-8")
    chest = tmp_path / "chest.csv"
    told = chest.read_text(encoding="utf-8")
    chest.write_text("# measured again\n" + told.replace(",", " , "), encoding="utf-8")
    assert read_case(path).fingerprint == before
    # What is said still counts: another value, another order of parts, another cell.
    for old, new in (('force = "3 N"', 'force = "3.1 N"'), ("format = 1", "format = 1\n[strokes]\nhold = '151 ms'")):
        path.write_text(text.replace(old, new, 1), encoding="utf-8")
        assert read_case(path).fingerprint != before, new
    path.write_text(text, encoding="utf-8")
    chest.write_text(told.replace("264", "265"), encoding="utf-8")
    assert read_case(path).fingerprint != before


# -- taken up again --------------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def broken_off(tmp_path_factory):
    folder = tmp_path_factory.mktemp("broken")
    out = folder / "some.h5"
    with pytest.raises(KeyboardInterrupt):
        run(read_case(write_case(folder)), "C4:D4", out=out, progress=Told(stop_after=2))
    assert not out.exists()
    assert sorted(path.name for path in Path(f"{out}.part").glob("*.npz")) == ["60.npz", "61.npz"]
    return folder


@pytest.fixture
def half_done(broken_off, tmp_path):
    """A run of three notes that was broken off after two: a copy for every test."""
    copytree(broken_off, tmp_path, dirs_exist_ok=True)
    return read_case(tmp_path / "short.toml"), tmp_path / "some.h5"


def test_finished_notes_are_not_played_again(half_done, short_result):
    case, out = half_done
    told = Told()
    result = run(case, "C4:D4", out=out, progress=told)
    assert (told.kept, told.played) == ([60, 61], [62])
    assert arrays_equal(load(out), result)
    for name, variable in result.variables.items():
        whole = short_result[name]
        assert np.array_equal(variable.data, whole, equal_nan=whole.dtype.kind == "f"), name
    assert not Path(f"{out}.part").exists()
    assert sorted(path.name for path in out.parent.iterdir()) == ["chest.csv", "short.toml", "some.h5"]


@pytest.mark.parametrize("damage", [b"", b"PK\x03\x04 cut off", b"not a note", None])
def test_a_damaged_note_is_played_again(half_done, damage):
    case, out = half_done
    part = Path(f"{out}.part") / "61.npz"
    content = part.read_bytes()
    part.write_bytes(content[: len(content) // 2] if damage is None else damage)
    told = Told()
    run(case, "C4:D4", out=out, progress=told)
    assert (told.kept, told.played) == ([60], [61, 62])


def test_a_flipped_bit_in_a_kept_note_is_noticed(half_done):
    case, out = half_done
    part = Path(f"{out}.part") / "60.npz"
    content = bytearray(part.read_bytes())
    content[len(content) // 2] ^= 1
    part.write_bytes(bytes(content))
    told = Told()
    run(case, "C4:D4", out=out, progress=told)
    assert (told.kept, told.played) == ([61], [60, 62])


def test_a_changed_case_keeps_nothing(half_done):
    _, out = half_done
    changed = read_case(write_case(out.parent, ('force = "3 N"', 'force = "3.2 N"')))
    told = Told()
    run(changed, "C4:D4", out=out, progress=told)
    assert (told.kept, told.played) == ([], [60, 61, 62])


def test_other_tolerances_keep_nothing(half_done):
    case, out = half_done
    told = Told()
    run(case, "C4", out=out, progress=told, tolerances=Tolerances(relative=3e-5))
    assert (told.kept, told.played) == ([], [60])


def test_failed_notes_are_tried_again(tmp_path):
    folder = PartsFolder(tmp_path / "some.h5", "mark")
    folder.add(failed_note(60, "some reason"))
    assert folder.done() == {}
    folder.remove()


def test_only_the_asked_notes_are_taken_over(half_done):
    case, out = half_done
    told = Told()
    assert run(case, "C#4", out=out, progress=told).notes == ["C#4"]
    assert (told.kept, told.played) == ([61], [])


def test_a_run_that_finished_nothing_leaves_nothing(tmp_path, monkeypatch):
    case = read_case(write_case(tmp_path))

    def stopped(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(manual, "work", stopped)
    with pytest.raises(KeyboardInterrupt):
        run(case, "C4", out=tmp_path / "some.h5")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["chest.csv", "short.toml"]


def test_what_is_kept_of_a_note_is_all_of_it(tmp_path, short_case):
    result = play_note(60, train_of(short_case, 60), short_case.strokes)
    folder = PartsFolder(tmp_path / "some.h5", "mark")
    folder.add(result)
    back = folder.done()[60]
    for name, value in vars(result).items():
        assert alike(getattr(back, name), value), name
    folder.remove()


def alike(one, other):
    """Equal to the last bit and in the same order; no number equals no number."""
    if isinstance(one, np.ndarray):
        return one.dtype == other.dtype and np.array_equal(one, other, equal_nan=one.dtype.kind == "f")
    if isinstance(one, dict):
        return list(one) == list(other) and all(alike(one[key], other[key]) for key in one)
    if isinstance(one, tuple):
        return len(one) == len(other) and all(map(alike, one, other))
    return one == other or (one != one and other != other)


# -- one writer at a time --------------------------------------------------------------------------------
def test_a_second_writer_is_refused(half_done):
    case, out = half_done
    held = PartsFolder(out, fingerprint(case, Tolerances()))
    with pytest.raises(
        Busy, match=r"some\.h5\.part: another run is writing this result; wait for it or choose another"
    ):
        run(case, "C4:D4", out=out)
    assert len(held.done()) == 2  # nothing of the first is lost
    held.release()
    told = Told()
    run(case, "C4:D4", out=out, progress=told)
    assert told.kept == [60, 61]


def test_a_second_writer_with_another_case_discards_nothing(half_done):
    case, out = half_done
    held = PartsFolder(out, fingerprint(case, Tolerances()))
    with pytest.raises(Busy):
        PartsFolder(out, "another fingerprint")
    assert len(held.done()) == 2
    held.remove()


def test_a_folder_that_cannot_be_made(tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    with pytest.raises(FileProblem, match=r"cannot be written .*choose another place with --out"):
        PartsFolder(blocked / "some.h5", "mark")
    (tmp_path / "some.h5.part").write_text("a file where the folder should be")
    with pytest.raises(FileProblem):
        PartsFolder(tmp_path / "some.h5", "mark")


def test_a_full_disk_while_a_note_is_kept(half_done, monkeypatch):
    case, out = half_done

    def full(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("keyaction.sim.files.kept.np.savez", full)
    with pytest.raises(FileProblem) as caught:
        run(case, "C4:D4", out=out)
    assert "a finished note cannot be kept (No space left on device); make room and give the same command" in str(
        caught.value
    )
    monkeypatch.undo()
    told = Told()
    run(case, "C4:D4", out=out, progress=told)
    assert (told.kept, told.played) == ([60, 61], [62])


# -- workers that die ------------------------------------------------------------------------------------
def children():
    """Processes begun by this one that play notes."""
    found = []
    for folder in Path("/proc").iterdir():
        try:
            parent = int((folder / "stat").read_text().rsplit(")", 1)[1].split()[1])
            command = (folder / "cmdline").read_bytes()
        except (OSError, IndexError, ValueError):
            continue
        if parent == os.getpid() and b"spawn_main" in command:
            found.append(int(folder.name))
    return found


needs_proc = pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="finds the workers by /proc")


@needs_proc
def test_a_worker_that_is_killed_costs_nothing_but_time(short_case, short_result):
    killed, blocked = [], []

    def kill():
        until = time.monotonic() + HANG
        while not killed and time.monotonic() < until:
            for child in children()[:1]:
                status = Path(f"/proc/{child}/status").read_text()
                blocked.append(int(status.split("SigBlk:")[1].split()[0], 16))
                time.sleep(0.3)
                os.kill(child, signal.SIGKILL)
                killed.append(child)
            time.sleep(0.01)

    hunter = threading.Thread(target=kill)
    hunter.start()
    told = Told()
    result = run(short_case, "C4:D4", jobs=2, progress=told)
    hunter.join()
    assert len(killed) == 1
    # From its first moment a worker leaves Ctrl-C to the one who began it.
    assert blocked[0] >> (signal.SIGINT - 1) & 1
    assert sorted(told.played) == [60, 61, 62]
    assert list(result["status"]) == ["ok"] * 3
    assert arrays_equal(result, short_result)
    assert children() == []


def test_ctrl_c_waits_until_the_workers_are_begun():
    steps = []
    with pytest.raises(KeyboardInterrupt), workers.no_interrupt():
        signal.pthread_kill(threading.get_ident(), signal.SIGINT)
        steps.append("begun")
    assert steps == ["begun"]
    assert signal.SIGINT not in signal.pthread_sigmask(signal.SIG_BLOCK, [])


@needs_proc
def test_a_note_whose_worker_dies_twice_is_recorded(short_case):
    begin, stop, told = threading.Event(), threading.Event(), []

    def kill_all():
        begin.wait(60)
        while not stop.wait(0.01):
            for child in children():
                os.kill(child, signal.SIGKILL)

    def progress(note, _):
        told.append(note.note)
        begin.set()

    hunter = threading.Thread(target=kill_all)
    hunter.start()
    try:
        result = run(short_case, "C4:D#4", jobs=2, progress=progress)
    finally:
        begin.set()
        stop.set()
        hunter.join()
    assert sorted(told) == [60, 61, 62, 63]
    failed = [text for text in result["status"] if text != "ok"]
    assert 1 <= len(failed) <= 3
    assert set(failed) == {"failed: the process that played it died twice (out of memory, or killed)"}


@needs_proc
def test_breaking_off_ends_the_workers(tmp_path):
    case = read_case(write_case(tmp_path))
    with pytest.raises(KeyboardInterrupt):
        run(case, None, out=tmp_path / "some.h5", jobs=2, progress=Told(stop_after=1))
    assert children() == []
    kept = [path.name for path in (tmp_path / "some.h5.part").glob("*.npz")]
    assert len(kept) == 1
    assert json.loads(str(np.load(tmp_path / "some.h5.part" / kept[0])["plain"]))["status"] == "ok"
