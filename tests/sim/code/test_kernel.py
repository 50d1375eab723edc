"""Equations in plain Python where Numba cannot serve, and a cache folder that may be anywhere."""

import os
import subprocess
import sys
import warnings
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from patience import HANG

from keyaction.models.train.equations import derived
from keyaction.sim.code import cache, kernel, scalar
from keyaction.sim.code.cache import CacheNotice, cache_folder
from keyaction.sim.code.kernel import load_kernel
from keyaction.sim.motion import drives
from keyaction.sim.motion.note import NoteModel

TAP = drives.stroke(0.01, 0.01, 0.01, 1e-3, rest=0.01)
fresh = load_kernel.__wrapped__


@pytest.fixture(autouse=True)
def no_setting(monkeypatch):
    monkeypatch.delenv("KEYACTION_PLAIN", raising=False)


def test_compiled_by_itself_and_without_a_word(short_model):
    made = fresh(short_model.train.structure)
    assert made.compiled
    assert made.notice == ""


@pytest.mark.parametrize("problem", [ImportError("No module named 'numba'"), RuntimeError("no\ncompiler here")])
def test_without_numba_plain_python_serves_and_says_so_in_one_line(short_model, monkeypatch, problem):
    def cannot(_):
        raise problem

    monkeypatch.setattr(kernel, "_compile", cannot)
    made = fresh(short_model.train.structure)
    assert not made.compiled
    first = str(problem).split("\n")[0]
    assert made.notice == (
        f"the equations run as plain Python, some times slower (Numba: {type(problem).__name__}: {first})"
    )


def test_numba_that_is_not_there(short_model, monkeypatch):
    monkeypatch.setitem(sys.modules, "numba", None)  # as if it were not installed
    made = fresh(short_model.train.structure)
    assert not made.compiled
    assert made.notice.startswith("the equations run as plain Python, some times slower (Numba: ")
    assert "\n" not in made.notice


def test_plain_when_asked_by_a_program_says_nothing(short_model):
    assert fresh(short_model.train.structure, plain=True).notice == ""


def test_the_same_motion_either_way(short_model):
    plain = NoteModel(short_model.train, plain=True)
    one, other = short_model.play(TAP), plain.play(TAP)
    assert plain.kernel().path == short_model.kernel().path
    assert not plain.kernel().compiled and short_model.kernel().compiled
    assert other.status.ok
    assert np.max(np.abs(one["key_travel"] - other["key_travel"])) < 1e-8


COMMAND = "import sys; from keyaction.sim.cli import main; sys.exit(main())"


def told(folder, case, **environment):
    """What `run` says on its second channel, played in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", COMMAND, "run", str(case), "--notes", "C4", "--jobs", "1"],
        cwd=folder,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        timeout=HANG,
    )
    assert done.returncode == 0, done.stderr
    return done.stderr


def test_the_notice_is_given_once(case_file):
    text = case_file.read_text(encoding="utf-8")
    # One slow trial at 1 Hz is enough here.
    case_file.write_text(text.replace("[[train]]", '[strokes]\nrepetition_highest = "1 Hz"\n\n[[train]]', 1))
    notice, *others = told(case_file.parent, case_file, KEYACTION_PLAIN="1").splitlines()
    assert notice == "note: the equations run as plain Python, some times slower (KEYACTION_PLAIN is set)"
    assert all("'repetition_highest' = 1 Hz: outside the usual" in line for line in others)


# -- where generated code is kept ------------------------------------------------------------------------
def test_the_cache_is_where_it_is_asked_for(monkeypatch, tmp_path):
    monkeypatch.setenv("KEYACTION_CACHE", str(tmp_path / "deep" / "down"))
    assert cache_folder() == tmp_path / "deep" / "down"
    assert list((tmp_path / "deep" / "down").iterdir()) == []
    monkeypatch.delenv("KEYACTION_CACHE")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "xdg"))
    assert cache_folder() == tmp_path / "xdg" / "keyaction"
    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    assert cache_folder() == tmp_path / "home" / ".cache" / "keyaction"


def test_a_cache_that_cannot_be_written_gives_way_to_a_temporary_one(monkeypatch, tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    monkeypatch.setenv("KEYACTION_CACHE", str(blocked))
    folder = cache_folder()
    assert folder.is_dir()
    assert not folder.is_relative_to(tmp_path)
    assert cache_folder() == folder  # one for the whole process
    monkeypatch.setenv("KEYACTION_CACHE", str(tmp_path))

    def full(**_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(cache.tempfile, "mkstemp", full)
    assert cache_folder() == folder


def test_a_module_is_written_whole_or_not_at_all(monkeypatch, tmp_path, short_model):
    monkeypatch.setenv("KEYACTION_CACHE", str(tmp_path))

    def slip(_):
        raise ArithmeticError

    monkeypatch.setattr(scalar, "generate", slip)
    with pytest.raises(ArithmeticError):
        fresh(short_model.train.structure, plain=True)
    assert list(tmp_path.iterdir()) == []


def test_the_key_follows_structure_and_kind(short_model):
    structure = short_model.train.structure
    other = tuple(replace(member, name=f"{member.name}-x") for member in structure)
    keys = {kernel._key(one, kind) for one in (structure, other) for kind in ("train", "rider")}
    assert len(keys) == 4
    assert kernel._key(structure, "train") == kernel._key(tuple(structure), "train")


def test_a_slip_in_a_generated_module_does_not_stay(monkeypatch, tmp_path, short_model):
    monkeypatch.setenv("KEYACTION_CACHE", str(tmp_path))
    made = fresh(short_model.train.structure, plain=True)
    assert made.path.parent == tmp_path
    assert [path.name for path in Path(tmp_path).glob("*.py")] == [made.path.name]
    again = fresh(short_model.train.structure, plain=True)
    assert again.path == made.path


DAMAGES = {
    "cut short": lambda content: content[: len(content) // 2],
    "emptied": lambda content: content[:0],
    "one bit": lambda content: content[:400] + bytes([content[400] ^ 1]) + content[401:],
    "longer": lambda content: content + b"x",
    "foreign": lambda _: b"raise SystemExit(3)\n",
}


@pytest.mark.parametrize("damage", DAMAGES.values(), ids=DAMAGES)
def test_a_damaged_module_is_written_anew(monkeypatch, tmp_path, short_model, damage):
    monkeypatch.setenv("KEYACTION_CACHE", str(tmp_path))
    path = fresh(short_model.train.structure, plain=True).path
    whole = path.read_bytes()
    path.write_bytes(damage(whole))
    with pytest.warns(CacheNotice, match=r"train_\w+\.py: damaged code in the cache is written anew"):
        assert fresh(short_model.train.structure, plain=True).path == path
    assert path.read_bytes() == whole


def test_python_s_own_copies_are_not_trusted(monkeypatch, tmp_path, short_model):
    """Nothing tells whether a compiled copy in __pycache__ is whole: none is read, none written."""
    monkeypatch.setenv("KEYACTION_CACHE", str(tmp_path))
    fresh(short_model.train.structure, plain=True)
    assert not list(tmp_path.rglob("*.pyc"))


@pytest.mark.parametrize("damage", DAMAGES.values(), ids=DAMAGES)
@pytest.mark.parametrize("ending", ["nbi", "nbc"])
def test_damaged_machine_code_is_compiled_anew(monkeypatch, tmp_path, short_model, damage, ending):
    """Numba would run it as it is: the process ends, or the figures are any."""
    monkeypatch.setenv("KEYACTION_CACHE", str(tmp_path))
    model = NoteModel(short_model.train)
    y, p, d = model.rest(), model.parameters(), np.zeros(short_model.kernel().drive_size)
    made = fresh(short_model.train.structure)
    rates = made.rates(0.0, y, p, d)
    files = sorted(tmp_path.rglob(f"*.{ending}"))
    assert files
    for path in files:
        path.write_bytes(damage(path.read_bytes()))
    with pytest.warns(CacheNotice, match=rf"\.{ending}: damaged code in the cache is compiled anew"):
        healed = fresh(short_model.train.structure)
        assert np.array_equal(healed.rates(0.0, y, p, d), rates)
    assert healed.compiled
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert np.array_equal(fresh(short_model.train.structure).rates(0.0, y, p, d), rates)


def full(*_, **__):
    raise OSError(28, "No space left on device")


def test_a_disk_that_is_full_when_code_is_to_be_kept(monkeypatch, tmp_path, short_model):
    monkeypatch.setenv("KEYACTION_CACHE", str(tmp_path))
    real, calls = cache._put, []

    def once(path, text):
        calls.append(path)
        (full if len(calls) == 1 else real)(path, text)

    monkeypatch.setattr(cache, "_put", once)
    with pytest.warns(
        CacheNotice, match="cannot be kept in .* \\(No space left on device\\): it is made anew this time"
    ):
        made = fresh(short_model.train.structure, plain=True)
    assert made.path.exists() and not made.path.is_relative_to(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_no_room_anywhere(monkeypatch, tmp_path, short_model):
    monkeypatch.setenv("KEYACTION_CACHE", str(tmp_path))
    monkeypatch.setattr(cache.tempfile, "mkstemp", full)
    monkeypatch.setattr(cache.tempfile, "mkdtemp", full)
    cache.temporary_folder.cache_clear()
    with pytest.warns(CacheNotice, match="No space left"):
        made = fresh(short_model.train.structure)
    assert made.compiled and not made.path.exists()
    assert list(tmp_path.iterdir()) == []


def test_a_disk_that_is_full_when_machine_code_is_to_be_kept(monkeypatch, tmp_path, short_model):
    from keyaction.sim.code import compiled

    monkeypatch.setenv("KEYACTION_CACHE", str(tmp_path))
    monkeypatch.setattr(compiled, "sealed", full)
    with pytest.warns(CacheNotice, match="compiled code cannot be kept in .*No space left on device"):
        assert fresh(short_model.train.structure).compiled
    assert not [path for path in tmp_path.rglob("*") if ".nb" in path.name]


def test_the_temporary_folder_goes_with_the_process_that_made_it(case_file, tmp_path):
    blocked, temporary = tmp_path / "blocked", tmp_path / "tmp"
    blocked.write_text("in the way")
    temporary.mkdir()
    text = case_file.read_text(encoding="utf-8")
    case_file.write_text(text.replace("[[train]]", '[strokes]\nrepetition_highest = "1 Hz"\n\n[[train]]', 1))
    said = told(case_file.parent, case_file, KEYACTION_CACHE=str(blocked), TMPDIR=str(temporary), KEYACTION_PLAIN="1")
    assert said.startswith(
        f"note: generated code cannot be kept in {blocked} (File exists): it is made anew this time; "
        "KEYACTION_CACHE names another folder\n"
        "note: the equations run as plain Python, some times slower (KEYACTION_PLAIN is set)\n"
    )
    assert list(temporary.iterdir()) == []


def test_a_law_replaced_while_the_program_runs_is_not_served_from_the_cache(monkeypatch, short_model):
    from keyaction.models.algebra import laws

    structure = short_model.train.structure
    before = kernel._key(structure, "train")
    assert not kernel._patched()
    real = laws.Felt.force
    monkeypatch.setattr(laws.Felt, "force", lambda *given: 2 * real(*given))
    derived.cache_clear()
    try:
        assert kernel._key(structure, "train") != before
    finally:
        monkeypatch.undo()
        derived.cache_clear()
    assert kernel._key(structure, "train") == before


@pytest.mark.parametrize("plain", [True, False])
def test_any_numbers_are_taken_and_other_sizes_refused(plain, make_model):
    """Compiled code reads wherever it is told to: what is given is made doubles of the right size first."""
    model = make_model()
    kernel = load_kernel(model.train.structure, plain=plain)
    y, p, d = model.rest(), model.parameters(), np.zeros(kernel.drive_size)
    rates = kernel.rates(0.0, y, p, d)
    for t in (0, False, np.float32(0.0), np.array(0.0)):
        assert np.array_equal(kernel.rates(t, list(y), tuple(p), d.astype(int)), rates)
    single = y.astype(np.float32)
    for function in (kernel.rates, kernel.jacobian):
        assert np.array_equal(function(0.0, single, p, d), function(0.0, single.astype(float), p, d))
        for wrong in ((y[None], p, d), (y[:3], p, d), (y, p[None], d), (y, p[:2], d), (y, p, d[:0]), (y, p, 0.0)):
            with pytest.raises(ValueError, match=r"has \d+ entries in one axis; given"):
                function(0.0, *wrong)
    seen = kernel.observe([0.0], [list(y)], p, d)
    assert seen.shape == (1, len(kernel.observables)) and kernel.observe([], np.zeros((0, len(y))), p, d).shape[0] == 0
    for t, states in ((np.zeros(2), y[None]), (np.zeros(1), y), (0.0, y[None])):
        with pytest.raises(ValueError, match="belongs to every instant"):
            kernel.observe(t, states, p, d)
