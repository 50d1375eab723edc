"""Presses of many designs as C, by this machine's own compiler, against those that Numba follows one by one."""

import shutil
from dataclasses import replace

import numpy as np
import pytest
import read_rows
from scattered import scattered

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.cases.study.reader import read_study
from keyaction.sim.code import machines
from keyaction.sim.code.c_text import LANES
from keyaction.sim.code.no_gpu import NoGpu
from keyaction.sim.lanes.evaluate import available
from keyaction.sim.lanes.read_presses import PressReader
from keyaction.sim.motion.note import NoteModel, with_couplers_set
from keyaction.sim.statics import path, pressed_rows, reading
from keyaction.sim.statics.balance import OpenAtRest
from keyaction.sim.statics.events import EVENTS
from keyaction.sim.statics.press import press
from keyaction.sim.statics.press_text import DONE, DOWN_COUNT, OPEN, UP, WIDE, press_text
from keyaction.sim.statics.pressed_rows import Read, Resting, followed
from keyaction.sim.sweep.designs import make_design, recipe_of
from keyaction.sim.sweep.manifest import plan_of

compiler = pytest.mark.skipif(shutil.which("cc") is None, reason="this machine has no C compiler: no cc is found")
ENDS = """\
PART void read_press(real *df, int df_n, real *ds, int ds_h, int ds_w, real *de, int de_h, int de_w, real *dx,
    int dx_n, int down, real *uf, int uf_n, real *us, int us_h, int us_w, real *ue, int ue_h, int ue_w, real *ux,
    int ux_n, int up, int *columns, int columns_n, real *given, int given_n, real *work, int work_n, real *out,
    int out_n)
{
    out[0] = given[0]; out[W] = df[(down - 1)*W]; out[2*W] = ue[((up - 1)*ue_w + columns[0])*W]; out[3*W] = given[W];
}
"""


def models_of(name, notes):
    case = read_case(name)
    return case, [NoteModel(with_couplers_set(train_of(case, note))) for note in notes or case.compass]


def designs_of(models, strokes):
    parameters, rests = (np.array([getattr(one, what)() for one in models]) for what in ("parameters", "rest"))
    return Resting(parameters, rests, strokes.press_stiffness, strokes.dip_force)


def way_of(ways, design, way):
    """The finger's way, states and observables along one way of a design."""
    block, lane = divmod(design, LANES)
    count = ways.told[block, DOWN_COUNT + way, lane]
    return [one[way][block, :count, ..., lane] for one in (ways.finger, ways.states, ways.seen)]


@compiler
@pytest.mark.parametrize(
    ("name", "notes"),
    [("demo-wood", range(40, 75)), ("hung-beam", (43,)), ("two-pallets", (36,)), ("mixed-bass", (36, 38))],
)
def test_ways_are_those_that_numba_follows_to_the_last_digit(name, notes):
    """Blocks that do not fill, and one design alone."""
    case, models = models_of(name, [note for note in notes if note in read_case(name).compass])
    designs = designs_of(models, case.strokes)
    ways = followed(press_text(models[0].train.structure), designs, machines.own_compiler())
    for i, model in enumerate(models):
        found = press(model, designs.stiffness, designs.dip_force, designs.rests[i])
        for way, course in enumerate((found.down, found.up)):
            finger, states, seen = way_of(ways, i, way)
            assert np.array_equal(finger, course.finger)
            assert np.array_equal(states, course.states) and np.array_equal(seen, course.seen)


def of_row(train, row):
    """The train with other figures of its equations."""
    names = [one.name for one in train.system().params]
    changed = {name: replace(train.parameters[name], value=float(x)) for name, x in zip(names, row, strict=True)}
    return NoteModel(replace(train, parameters={**train.parameters, **changed}))


@compiler
def test_designs_that_cannot_be_pressed_tell_why_and_do_not_touch_their_neighbours():
    case = read_case("demo-wood")
    train = train_of(case, 60)
    rows = scattered(train, 6, 2)
    names = [one.symbol.name for one in train.system().params]
    spring, key, dip = (names.index(name) for name in ("M0_pallet_spring", "k_riser", "dip_key"))
    rows[1, spring] = -0.5  # the pallet hangs open
    rows[3, key] = np.nan
    rows[4, dip] = 0.05
    models = [of_row(train, row) for row in rows]
    rests = np.array([(of_row(train, rows[0]) if i in (1, 3) else one).rest() for i, one in enumerate(models)])
    turned = models[0].kernel().states.index("q_pallet")
    rests[1, turned] = -0.7 if rests[0, turned] < 0 else 0.7
    found = pressed_rows.pressed_rows(train.structure, rows, rests, case.strokes, machines.own_compiler())
    assert found.code.tolist() == [DONE, OPEN, DONE, path.NOWHERE, WIDE, DONE]
    with pytest.raises(OpenAtRest):
        press(models[1], case.strokes.press_stiffness, case.strokes.dip_force, rests[1])
    for i in (0, 2, 5):
        alone = press(models[i], case.strokes.press_stiffness, case.strokes.dip_force, rests[i])
        assert found.counts[i].tolist() == [len(alone.down.finger), len(alone.up.finger)]


@compiler
def test_what_reads_is_given_each_design_its_own_ways(monkeypatch):
    """In parts, and with more room where the ways of a part need it."""
    case, models = models_of("demo-wood", range(50, 54))
    times = 10
    designs = designs_of(models, case.strokes)
    parameters, rests = np.tile(designs.parameters, (times, 1)), np.tile(designs.rests, (times, 1))
    given = np.column_stack([np.zeros(len(rests)), np.arange(len(rests))])
    column = models[0].kernel().observables.index("key_force")
    read = Read((column,), given, 4, 1, ENDS)
    monkeypatch.setattr(pressed_rows, "ROOM", 100)
    monkeypatch.setattr(machines.OwnCompiler, "room", lambda _: 40_000_000)
    own = machines.own_compiler()
    found = pressed_rows.pressed_rows(models[0].train.structure, parameters, rests, case.strokes, own, read)
    assert not np.any(found.code) and np.all(found.counts > 100) and np.all(found.turns > found.counts)
    assert found.out[:, 3].tolist() == given[:, 1].tolist()
    for i, model in enumerate(models):
        press_ = press(model, designs.stiffness, designs.dip_force, designs.rests[i])
        ends = press_.down.rest, press_.down.finger[-1], press_.up.force[-1]
        assert np.array_equal(found.out[i :: len(models), :3], np.tile(ends, (times, 1)))
    monkeypatch.setattr(machines.OwnCompiler, "room", lambda _: 1000)
    with pytest.raises(NoGpu, match="too little memory"):
        pressed_rows.pressed_rows(models[0].train.structure, parameters, rests, case.strokes, own)


@compiler
@pytest.mark.parametrize(("name", "notes"), [("demo-wood", range(36, 92, 9)), ("hung-beam", (48,))])
def test_figures_are_those_that_numba_reads(name, notes):
    case, models = models_of(name, notes)
    designs, structure = designs_of(models, case.strokes), models[0].train.structure
    reader = PressReader(structure, designs.stiffness)
    read = Read(reader.columns, reader.given(np.zeros(len(models))), reader.width)
    given = structure, designs.parameters, designs.rests, case.strokes, machines.own_compiler()
    found = pressed_rows.pressed_rows(*given, read)
    assert not np.any(found.code)
    for i, model in enumerate(models):
        one = press(model, designs.stiffness, designs.dip_force, designs.rests[i])
        ours = read_rows.read(reader, one.down, one.up, reader.given(np.array([one.down.rest]))[0])
        assert found.out[i] == pytest.approx(ours, rel=1e-12, abs=1e-15, nan_ok=True)


JOGGED = """\
PART real jogged(real x)
{
    union { double x; unsigned long long bits; } one = {x};
    const unsigned long long draw = (one.bits*0x9E3779B97F4A7C15ull) >> 60;
    one.bits += draw == 0 ? 1 : draw == 1 ? -1 : 0;
    return one.x;
}
PART real jogged_sin(real x) { return jogged(sin(x)); }
PART real jogged_cos(real x) { return jogged(cos(x)); }
#define sin jogged_sin
#define cos jogged_cos
"""
"""Sines and cosines of which an eighth are another in the last digit, as another machine's library may have them."""


@compiler
def test_no_figure_hangs_on_the_last_digit_of_a_sine(monkeypatch):
    """Trains whose work of a loop had been off by 3e-9 to 8e-9: their key force is almost level."""
    case, study = read_case("demo-wood"), read_study("materials", available())
    recipe, plan = recipe_of(study), plan_of(study)
    rows = plan.rows(0, plan.count)
    trains = [make_design(recipe, rows[k]).trains[i] for k, i in ((43, 7), (17, 7), (8, 9), (8, 10))]
    models = [NoteModel(with_couplers_set(one)) for one in trains]
    designs, structure = designs_of(models, case.strokes), models[0].train.structure
    reader, own = PressReader(structure, designs.stiffness), machines.own_compiler()
    read = Read(reader.columns, reader.given(np.zeros(len(models))), reader.width)
    given = structure, designs.parameters, designs.rests, case.strokes, own, read
    ours, call = pressed_rows.pressed_rows(*given), own.call
    over = "#define over_(a, b)"
    monkeypatch.setattr(own, "call", lambda text, *more, **how: call(text.replace(over, JOGGED + over), *more, **how))
    theirs = pressed_rows.pressed_rows(*given)
    assert not np.array_equal(ours.out, theirs.out, equal_nan=True)
    figures = len(reading.FIGURES)
    assert theirs.out[:, :figures] == pytest.approx(ours.out[:, :figures], rel=5e-10, abs=1e-15, nan_ok=True)


@compiler
def test_a_way_of_more_points_than_there_is_room_for_is_told(monkeypatch):
    case, models = models_of("demo-wood", (60,))
    designs = designs_of(models, case.strokes)
    monkeypatch.setattr(pressed_rows, "ROOM", 30)
    given = models[0].train.structure, designs.parameters, designs.rests, case.strokes, machines.own_compiler()
    assert pressed_rows.pressed_rows(*given).code.tolist() == [path.FULL]
    found = press(models[0], designs.stiffness, designs.dip_force, designs.rests[0])
    room = len(found.down.finger) + EVENTS + 1
    assert len(found.up.finger) > room
    monkeypatch.setattr(pressed_rows, "ROOM", room)
    monkeypatch.setattr(pressed_rows, "MORE", 1)
    assert pressed_rows.pressed_rows(*given).code.tolist() == [UP + path.FULL]
