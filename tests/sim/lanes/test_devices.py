"""Lanes as C: the text that a GPU is given, compiled by this machine's own compiler, against the lanes of Numba.

A GPU itself is tried by hand: `tests/benchmarks/gpu.py`.
"""

import ast
import shutil
import sys
from contextlib import nullcontext
from types import SimpleNamespace

import numpy as np
import pytest
from scattered import scattered

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.code import machines
from keyaction.sim.code.c_bodies import Body
from keyaction.sim.code.c_text import CText
from keyaction.sim.code.cache import CacheNotice
from keyaction.sim.code.folding import folded, opposites
from keyaction.sim.code.lane_kernel import load_rows
from keyaction.sim.code.no_gpu import GpuFailed, NoGpu
from keyaction.sim.figures.rates import searched
from keyaction.sim.lanes import device_presses, on_device
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.lanes.evaluate import evaluate
from keyaction.sim.lanes.memory import in_parts
from keyaction.sim.lanes.plays import RepeatedClosely
from keyaction.sim.lanes.sent import Computed, Sent
from keyaction.sim.lanes.threads import constants_here
from keyaction.sim.motion.note import with_couplers_set

compiler = pytest.mark.skipif(shutil.which("cc") is None, reason="this machine has no C compiler: no cc is found")
EXACT = {"float64": 1e-9, "float32": 1e-4}


@pytest.fixture(scope="module")
def case():
    return read_case("demo-wood")


@pytest.fixture(scope="module")
def train(case):
    return train_of(case, 60)


def rows_of(train, count):
    """Scattered designs, the last of them far beyond what the step can follow."""
    rows = scattered(train, count, 3)
    rows[-1, [p.symbol.name for p in train.system().params].index("K_roller")] *= 1e6
    return rows


def played(train, strokes, rows, real, device):
    batch = Batch(train.structure, rows, 100e-6, 1, real, device=device)
    rest = batch.rest()
    return rest, batch.stroke(strokes, rest, np.full(len(rows), 6e-3)), batch


@compiler
@pytest.mark.parametrize("real", ["float64", "float32"])
def test_rest_and_stroke_are_those_of_the_lanes(case, train, real):
    rows = rows_of(train, 35)
    (rest, stroke, _), (other, there, _) = (played(train, case.strokes, rows, real, one) for one in ("cpu", "cc"))
    assert np.array_equal(rest.settled, other.settled)
    sound = np.arange(len(rows) - 1)
    assert other.states[sound] == pytest.approx(rest.states[sound], abs=EXACT[real], rel=EXACT[real])
    assert np.array_equal(stroke.nearly, there.nearly)
    for name, ours in stroke.quantities.items():
        assert np.isnan(ours[-1]) and np.isnan(there.quantities[name][-1]), name
        assert there.quantities[name] == pytest.approx(ours, rel=EXACT[real], abs=1e-9, nan_ok=True), name
    assert there.widest[sound] == pytest.approx(stroke.widest[sound], rel=EXACT[real], abs=1e-9)


@compiler
def test_whole_motions_and_repetition_are_those_of_the_lanes(case, train):
    rows = scattered(train, 5, 4)
    (rest, _, batch), (_, _, there) = (played(train, case.strokes, rows, "float64", one) for one in ("cpu", "cc"))
    drive = batch.stroke_drive(case.strokes, rest)
    ours, theirs = (one.trace(drive, rest, 0.06, 7) for one in (batch, there))
    assert np.array_equal(ours.t, theirs.t)
    scale = np.max(np.abs(ours.y), axis=(0, 1)) + 1e-12
    assert np.max(np.abs(ours.y - theirs.y) / scale) < 1e-9
    scale = np.max(np.abs(ours.seen), axis=(0, 1)) + 1e-12
    assert np.max(np.abs(ours.seen - theirs.seen) / scale) < 1e-9
    tenths, which = np.array([40, 90, 150, 60, 120, 150]), np.array([0, 1, 2, 3, 4, 4])
    verdicts = [one.judge(case.strokes, rest)(tenths, which) for one in (batch, there)]
    assert verdicts[0].tolist() == verdicts[1].tolist() and 0 in verdicts[0] and np.any(verdicts[0])


@compiler
def test_a_train_of_other_parts_is_printed_too():
    """Two pallets, whose grooves are judged together."""
    case = read_case("two-pallets")
    train = with_couplers_set(train_of(case, case.compass[0]))
    rows = np.array([train.vector(load_rows(train.structure).layout.parameters)])
    (_, stroke, batch), (rest, there, other) = (
        played(train, case.strokes, rows, "float64", one) for one in ("cpu", "cc")
    )
    for name, ours in stroke.quantities.items():
        assert there.quantities[name] == pytest.approx(ours, rel=1e-9, abs=1e-9, nan_ok=True), name
    asked = np.array([30, 150]), np.array([0, 0])
    assert np.array_equal(*(one.judge(case.strokes, rest)(*asked) for one in (batch, other)))


@compiler
def test_parts_of_unlike_steps_that_are_played_together_come_out_as_on_the_processor(case, monkeypatch):
    """There each part is played by itself: every figure, status, limit, verdict and count of doubts."""
    monkeypatch.setattr("keyaction.sim.lanes.evaluate.CHUNK", 2)
    trains = [with_couplers_set(train_of(case, note)) for note in (36, 91, 60)]
    name = next(one for one in trains[2].parameters if (one.part, one.what) == ("roller", "K"))
    trains[2] = trains[2].with_parameter(name, 4 * trains[2].parameters[name].value, "test")
    assert Batch.of(trains[:2]).step != Batch.of(trains[2:]).step
    found, alone = (evaluate(trains, case.strokes, jobs=1, sample=0, device=one) for one in ("cc", "cpu"))
    assert found.status == alone.status and found.limits == alone.limits
    assert found.verdicts == alone.verdicts and found.sensitive == alone.sensitive
    assert found.checks == alone.checks
    for name, ours in alone.quantities.items():
        assert found.quantities[name] == pytest.approx(ours, rel=1e-9, abs=1e-12, nan_ok=True), name


@compiler
def test_where_the_memory_holds_few_lanes_they_are_played_part_by_part(case, train, monkeypatch):
    rows = scattered(train, 70, 5)
    _, whole, _ = played(train, case.strokes, rows, "float64", "cc")
    monkeypatch.setattr(machines.OwnCompiler, "room", lambda _: 400_000)
    on_device._say_smaller.cache_clear()
    with pytest.warns(CacheNotice, match="memory holds 32 motions at a time"):
        _, parts, _ = played(train, case.strokes, rows, "float64", "cc")
    assert all(np.array_equal(whole.quantities[name], parts.quantities[name]) for name in whole.quantities)
    monkeypatch.setattr(machines.OwnCompiler, "room", lambda _: 1000)
    with pytest.raises(NoGpu, match="too little memory"):
        played(train, case.strokes, rows, "float64", "cc")


@compiler
def test_who_finds_less_memory_than_there_was_takes_smaller_parts(case, train, monkeypatch):
    """Others may take of it between the look and the play: fewer lanes, and fewer presses, at a time."""
    sent, pressed = on_device.Compiled._sent, device_presses.pressed_rows
    trains, asked = [train_of(case, note) for note in (36, 60, 91)], ["pluck_force"]
    rows = scattered(train, 70, 5)
    _, whole, _ = played(train, case.strokes, rows, "float64", "cc")
    presses = evaluate(trains, case.strokes, asked, 1, 0, device="cc")

    def few_lanes(self, laid, lanes):
        if lanes.stop - lanes.start > 32:
            raise MemoryError
        return sent(self, laid, lanes)

    def one_press(structure, parameters, *more):
        if len(parameters) > 1:
            raise NoGpu("too little memory")
        return pressed(structure, parameters, *more)

    monkeypatch.setattr(on_device.Compiled, "_sent", few_lanes)
    monkeypatch.setattr(device_presses, "pressed_rows", one_press)
    monkeypatch.setattr(device_presses, "LANES", 1)
    _, parts, _ = played(train, case.strokes, rows, "float64", "cc")
    for name, values in whole.quantities.items():
        assert np.array_equal(parts.quantities[name], values, equal_nan=True), name
    again = evaluate(trains, case.strokes, asked, 1, 0, device="cc")
    assert np.array_equal(again.quantities["pluck_force"], presses.quantities["pluck_force"])
    assert again.verdicts == presses.verdicts


@compiler
def test_constants_are_those_of_the_compiled_function(train):
    """Some parameters taken as nought; and the noughts and ones are found."""
    rows, kernel = scattered(train, 40, 2), load_rows(train.structure)
    given = Sent(rows), Sent(np.full((len(rows), 1), 1e-4))
    here = constants_here(kernel, rows, np.full(len(rows), 1e-4), [3, 5], 1)
    simple = np.array([np.all(here == value, axis=0) for value in (0.0, 1.0)])
    there = Computed(on_device.constants_text(kernel), kernel.constant_count, *given, [3, 5])
    machine = machines.own_compiler()
    assert there.at(machine, "float64") == pytest.approx(here, rel=1e-14, abs=1e-300)
    assert np.array_equal(there.simple(machine), simple) and np.any(simple)
    which = np.array([7, 7, 3])
    assert np.array_equal(there.at(machine, "float64", which), there.at(machine, "float64")[which])


@compiler
def test_rates_found_in_single_precision_first_are_those_of_double(case, train):
    rows = scattered(train, 24, 8, 0.3)
    batch = Batch(train.structure, rows, 100e-6, 1, device="cc")
    rest = batch.rest()
    found, alone = batch.repetition(case.strokes, rest), searched(24, 20.0, batch.judge(case.strokes, rest))
    for name in ("tenths", "limits", "again", "trials"):
        assert np.array_equal(getattr(found, name), getattr(alone, name)), name
    tenths, which = np.maximum(np.repeat(found.tenths, 2) + np.tile([0, 1], 24), 10), np.repeat(np.arange(24), 2)
    told, sure = batch._quickly(case.strokes, rest)(tenths, which)
    assert 0 < np.sum(~sure) < len(sure), "some at the boundary are close, and some are not"
    exact = batch.judge(case.strokes, rest)(tenths, which)
    assert np.array_equal((told == 0)[sure], (exact == 0)[sure])
    ours = Batch(train.structure, rows, 100e-6, 1).judge(case.strokes, rest)(tenths, which)
    assert np.array_equal(ours, exact) and len(set(exact.tolist())) > 2, "words too"


def test_two_strokes_that_are_alike_tell_of_all_six(case, train):
    """Slow trials mostly end after the second; those that are open are then asked for all strokes."""
    rows = scattered(train, 24, 8, 0.5)
    batch = Batch(train.structure, rows, 100e-6, 1, device="cc")
    rest, tenths, which = batch.rest(), np.repeat(np.arange(10, 45, 5), 24), np.tile(np.arange(24), 7)
    asked = batch._asked(RepeatedClosely.of(case.strokes, 2), rest)(tenths, which)
    codes, open_ = asked[:, 0], asked[:, 2] > 0
    assert np.mean(open_[tenths > 30]) > 0.1 and np.mean(open_[tenths <= 20]) < 0.5
    exact = batch.judge(case.strokes, rest)(tenths, which)
    assert {0} < set(exact[~open_].tolist())
    assert np.array_equal((codes == 0)[~open_], (exact == 0)[~open_])


def test_an_event_is_written_when_it_happens_and_flags_are_whole_numbers(train):
    text = CText(load_rows(train.structure).source).text("stroke")
    assert "if (hit) {" in text and "int A" in text
    assert "pick(" not in text and "__launch_bounds__" in text


def statements(text):
    return [one for one in ast.parse(text).body if isinstance(one, ast.Assign)]


def test_any_power_of_a_law_of_ones_own_is_printed():
    lines = Body(statements("y = (c*x)**1.5\nz = x**2\nw = c**(-0.5)"), "float64").lines()
    assert lines == ["y = pow((c * x), 1.5);", "z = (x*x);", "w = pow(c, (-0.5));"]


def test_noughts_and_ones_leave_the_code_and_opposites_share_a_row():
    made = folded(
        statements("a = A[3*W + j]\nb = A[4*W + j]\nc = A[5*W + j]\ny = a*x + b*z - c*x/(a + 2.0) + pick(x > a, b, c)"),
        {3: 0.0, 4: 1.0},
        {5: 6},
    )
    assert [ast.unparse(one.targets[0]) for one in made] == ["y"]
    assert ast.unparse(made[0].value) == "z - -A[6 * W + j] * x / 2.0 + pick(x > 0.0, 1.0, -A[6 * W + j])"
    lines = "c[i, 0] = sin(d)\nc[i, 1] = -sin(d)\nc[i, 2] = -r*s\nc[i, 3] = r*s\nc[i, 4] = r + s"
    assert opposites(statements(lines)) == {1: 0, 3: 2}


class _Driver(Exception):
    pass


def fake(count):
    """A CuPy that finds so many GPUs, or says why not."""

    def found():
        if isinstance(count, str):
            raise _Driver(count)
        return count

    def compiled(**_):
        raise _Driver("nvrtc: invalid value for --gpu-architecture\nmore")

    runtime = SimpleNamespace(getDeviceCount=found, getDevice=lambda: 0)
    return SimpleNamespace(cuda=SimpleNamespace(runtime=runtime), zeros=np.zeros, RawModule=compiled)


@pytest.mark.parametrize(
    ("cupy", "told"),
    [
        (None, r'it needs CuPy .*pip install "keyaction\[gpu\]"'),
        (fake("cudaErrorNoDevice: no CUDA-capable device is detected"), "no GPU is found .*no CUDA-capable"),
        (fake("cudaErrorInsufficientDriver: CUDA driver version is insufficient"), "driver is too old.*renew"),
        (fake(1), "CuPy cannot compile for it or run on it .*gpu-architecture"),
    ],
)
def test_why_there_is_no_gpu_is_told_in_one_line(monkeypatch, cupy, told):
    monkeypatch.setitem(sys.modules, "cupy", cupy)
    machines._module.cache_clear()
    with pytest.raises(NoGpu, match=told) as caught:
        machines.Gpu()
    assert "\n" not in str(caught.value)


class _Runtime(RuntimeError):
    __module__ = "cupy_backends.cuda.api.runtime"


@pytest.fixture
def there():
    """A GPU of which nothing is there but that things are done on it."""
    gpu = object.__new__(machines.Gpu)
    runtime = SimpleNamespace(memGetInfo=lambda: (gpu.free, 80 << 30))
    nothing = SimpleNamespace(Device=lambda _: nullcontext(), Stream=lambda **_: nullcontext(), runtime=runtime)
    gpu.pool, gpu.free = _Pool(), 70 << 30
    gpu.arrays = SimpleNamespace(cuda=nothing, get_default_memory_pool=lambda: gpu.pool)
    gpu._streams, gpu._bounded = {}, set()
    return gpu


class _Pool:
    limit = used = 0

    def set_limit(self, size):
        self.limit = size

    def get_limit(self):
        return self.limit

    def used_bytes(self):
        return self.used

    def free_bytes(self):
        return 0


def test_arrays_leave_some_of_the_memory_to_the_driver(there):
    assert there.room() == int(0.8 * there.free)  # before any is bounded
    with there.on(0):
        assert there.pool.limit == (80 << 30) - machines.SPARED
        there.pool.used, there.free = 77 << 30, 3 << 30
        assert there.room() == int(0.8 * (1 << 30))


def test_what_the_driver_says_of_memory_is_an_error_of_memory_and_all_else_a_gpu_that_failed(there):
    full, dead = _Runtime("cudaErrorMemoryAllocation: out of memory"), _Runtime("cudaErrorIllegalAddress: an\nillegal")
    with pytest.raises(MemoryError, match="out of memory"), there.on(0):
        raise full
    with pytest.raises(GpuFailed, match=r"failed amid its work \(cudaErrorIllegalAddress: an\)$"), there.on(0):
        raise dead
    with pytest.raises(KeyError), there.on(0):
        raise KeyError("a slip")


def test_a_part_is_halved_where_the_driver_has_no_memory(there):
    done = []

    def work(part):
        if part.stop - part.start > 64:
            raise _Runtime("CUDA_ERROR_OUT_OF_MEMORY: out of memory")
        done.append(part)

    with there.on(0):
        in_parts(work, slice(0, 100), 32)
    assert [(part.start, part.stop) for part in done] == [(0, 64), (64, 100)]


def test_an_unknown_device_is_refused(train):
    with pytest.raises(ValueError, match="device 'abacus': one of cpu, gpu, cc"):
        Batch(train.structure, scattered(train, 1, 1), device="abacus")
    with pytest.raises(ValueError, match="have one step"):
        Batch(train.structure, scattered(train, 2, 1), np.array([1e-4, 2e-4]))
