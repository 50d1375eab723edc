"""The generated code: right derivatives, the same numbers with and without Numba, and a cache that is safe."""

import os
import subprocess
import sys
from pathlib import Path

import mpmath
import numpy as np
import pytest
from demo_train import DEMO, demo, train_of
from patience import HANG

from keyaction.models.train.equations import derived
from keyaction.sim.code.kernel import load_kernel
from keyaction.sim.code.scalar import generate
from keyaction.sim.motion import drives
from keyaction.sim.motion.note import NoteModel

STROKE = drives.stroke(0.04, 0.15, 0.04, 1.15 * 0.0095)
OTHER = {
    "pieces": {"t2.pieces": 3},
    "guides": {"t3.guides.breakaway": "0.05 N", "t3.guides.angle": 0.2, "t3.guides.coefficient": 0.3},
    "hung key": {"key.balance": "tail-hinged"},
    "side motion": {
        "t3.side_motion": True,
        "t3.slap.play": "2 mm",
        "t3.slap.squeeze": "0.3 mm",
        "t3.slap.force": "2 N",
    },
}
VARIANTS = {"demo": {}, "all at once": {key: one for other in OTHER.values() for key, one in other.items()}}
PARTS = pytest.mark.parametrize("variant", list(VARIANTS))


def played(variant):
    """Model, motion, and the instants at which the functions are compared, spread over the stroke."""
    model = NoteModel(demo(**VARIANTS[variant]), plain=True)
    motion = model.play(STROKE)
    assert motion.status.ok
    return model, motion, range(45, len(motion.t), 620)


def vector_at(drive, t):
    piece = next(piece for piece in drive.pieces if t <= piece.end)
    return drive.vector(piece)


@pytest.mark.one_in(2)
@PARTS
def test_plain_and_compiled_code_give_the_same_numbers(variant):
    model, motion, instants = played(variant)
    plain = model.kernel()
    compiled = load_kernel(model.train.structure, plain=False)
    assert not plain.compiled
    assert compiled.compiled, compiled.notice
    assert compiled.states == plain.states
    p = model.parameters()
    for i in instants:
        t, y, d = motion.t[i], motion.y[i], vector_at(motion.drive, motion.t[i])
        for one, other in (
            (plain.rates(t, y, p, d), compiled.rates(t, y, p, d)),
            (plain.jacobian(t, y, p, d), compiled.jacobian(t, y, p, d)),
            (plain.observe(np.array([t]), y[None], p, d), compiled.observe(np.array([t]), y[None], p, d)),
        ):
            scale = np.maximum(np.abs(one), 1e-3 * np.max(np.abs(one)))
            assert np.max(np.abs(np.asarray(one) - other) / scale) < 1e-12


def exact_rates(kernel):
    """The generated text run with 50 digits: its differences are free of rounding and of kinks nearby."""
    space = {"__name__": "many_digits"}
    exec(kernel.path.read_text(encoding="utf-8"), space)
    space |= {"sin": mpmath.sin, "cos": mpmath.cos, "sqrt": mpmath.sqrt}

    def rates(t, y, p, d):
        out = [mpmath.mpf(0)] * len(kernel.states)
        space["rates"](t, y, p, d, out)
        return out

    return rates


@pytest.mark.one_in(2)
@PARTS
def test_jacobian_against_differences(variant):
    model, motion, instants = played(variant)
    kernel, p = model.kernel(), model.parameters().tolist()
    rates = exact_rates(kernel)
    moving = [i for i, name in enumerate(kernel.states) if not name.startswith("work_")]
    step = mpmath.mpf("1e-20")
    with mpmath.workdps(50):
        for i in instants:
            t, d = float(motion.t[i]), vector_at(motion.drive, motion.t[i])
            y = [mpmath.mpf(float(x)) for x in motion.y[i]]
            exact = kernel.jacobian(t, motion.y[i], np.array(p), d)
            for j in moving:
                ahead, behind = ([*y[:j], y[j] + h, *y[j + 1 :]] for h in (step, -step))
                pairs = zip(rates(t, ahead, p, d.tolist()), rates(t, behind, p, d.tolist()), strict=True)
                column = np.array([float((one - other) / (2 * step)) for one, other in pairs])
                # Double precision loses up to six digits where forces of kilonewtons per metre nearly cancel.
                size = np.max(np.abs(exact[moving]), axis=1) * 1e-10 + np.abs(column[moving])
                assert np.all(np.abs(exact[moving, j] - column[moving]) <= 1e-6 * size + 1e-12), kernel.states[j]


@pytest.mark.one_in(2)
@PARTS
def test_jacobian_leaves_the_work_accounts_alone(variant):
    model, motion, _ = played(variant)
    kernel = model.kernel()
    works = [i for i, name in enumerate(kernel.states) if name.startswith("work_")]
    whole = kernel.jacobian(0.01, motion.y[100], model.parameters(), vector_at(motion.drive, 0.01))
    assert not whole[works].any()
    assert not whole[:, works].any()


def test_the_same_equations_give_the_same_text():
    structure = demo().structure
    assert generate(derived(structure)) == generate(derived.__wrapped__(structure))


SHORT = [part for part in DEMO if part[0] in ("key", "pull-down", "pallet", "spring", "groove", "box")]
WORKER = """
import sys
sys.path.insert(0, {tests!r})
import numpy as np
from demo_train import DEMO, train_of
from keyaction.sim.code.kernel import load_kernel

train = train_of([part for part in DEMO if part[0] in ("key", "pull-down", "pallet", "spring", "groove", "box")])
kernel = load_kernel(train.structure)
n = len(kernel.states)
p = np.array(train.vector(kernel.parameters))
rates = kernel.rates(0.01, np.linspace(1e-4, 1e-3, n), p, np.linspace(0.0, 1e-3, 16))
print(kernel.path.name, kernel.compiled, rates.tobytes().hex())
"""


def worker(cache):
    """A process of its own that loads the short train's equations with `cache` for its generated code."""
    environment = {name: value for name, value in os.environ.items() if name != "KEYACTION_PLAIN"}
    environment["KEYACTION_CACHE"] = str(cache)
    script = WORKER.format(tests=str(Path(__file__).resolve().parents[2] / "helpers"))
    return subprocess.Popen(
        [sys.executable, "-c", script],
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def told(process):
    out, err = process.communicate(timeout=HANG)
    assert process.returncode == 0, err
    assert err == ""
    return out.split()


def files(cache):
    """Every file of the cache with the time of its last change; Python's own byte code left out."""
    return {
        str(path.relative_to(cache)): path.stat().st_mtime_ns
        for path in cache.rglob("*")
        if path.is_file() and path.suffix != ".pyc"
    }


def test_two_processes_at_once_and_a_third_that_finds_all_ready(tmp_path):
    cache = tmp_path / "empty"
    both = [told(process) for process in [worker(cache), worker(cache)]]
    assert both[0] == both[1]
    assert both[0][1] == "True"
    made = files(cache)
    assert [name for name in made if name.endswith(".py")] == [both[0][0]]
    assert not [name for name in made if name.endswith(".tmp")]
    assert [name for name in made if name.endswith(".nbc")]
    # Nothing is generated or compiled again: not a file of the cache changes.
    assert told(worker(cache)) == both[0]
    assert files(cache) == made


def test_a_cache_folder_that_cannot_be_made_is_no_obstacle(tmp_path, monkeypatch):
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    monkeypatch.setenv("KEYACTION_CACHE", str(blocked / "cache"))
    train = train_of(SHORT)
    kernel = load_kernel.__wrapped__(train.structure, plain=True)
    assert kernel.path.exists()
    assert not kernel.path.is_relative_to(tmp_path)


def test_what_changes_the_equations_changes_the_module(monkeypatch, tmp_path):
    monkeypatch.setenv("KEYACTION_CACHE", str(tmp_path))
    shapes = [{}, *OTHER.values()]
    paths = {load_kernel.__wrapped__(demo(**changed).structure, plain=True).path for changed in shapes}
    paths.add(load_kernel.__wrapped__(demo().structure, True, plain=True).path)
    assert len(paths) == len(shapes) + 1
    # Another figure for the same structure is the same module.
    assert load_kernel.__wrapped__(demo(**{"t2.length": "3 m"}).structure, plain=True).path in paths


def test_plain_python_by_environment(monkeypatch):
    monkeypatch.setenv("KEYACTION_PLAIN", "1")
    kernel = load_kernel.__wrapped__(demo().structure)
    assert not kernel.compiled
    assert "KEYACTION_PLAIN" in kernel.notice
