"""Figures and verdicts of many presses at once are those of each note, to rounding and word for word."""

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from kinds_by_hand import KINDS
from read_rows import Rows, trains_of
from scattered import scattered

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.figures.columns import QUANTITIES, of_fates, of_verdict
from keyaction.sim.figures.play import NotPlayed, press_note
from keyaction.sim.figures.possible import beyond, impossible
from keyaction.sim.figures.record import Pressed
from keyaction.sim.figures.verdict import FATES, Fate, verdict
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.lanes.presses import DesignModel, presses
from keyaction.sim.lanes.read_presses import NAMES, PressReader, supported
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.statics.press import StaticPress, Ways
from keyaction.sim.statics.reading import FIGURES

CASE = read_case("demo-wood")
EXACT = {"loop_work": 1e-12, "friction_at_key": 1e-12, "train_frequency": 1e-10}
"""Sums are taken in another order; SciPy and NumPy may ask LAPACK for eigenvalues in two ways."""
SOFT = replace(CASE.strokes, press_stiffness=200.0)
ODD = (
    {"roller.pin.breakaway": "40 N*mm"},
    {"pallet-spring.force": "0.4 N"},
    {"drop.lost_motion": "8 mm"},
    {"groove.feet_area": "1000 mm^2"},
    {"groove.feet_area": "3000 mm^2"},
    {"groove.feet_area": "0 mm^2"},
    {"box.pressure": "0 Pa"},
    {"box.pressure": "0 Pa", "level-tracker.lost_motion": "-3 mm"},
    {"key.leads.0.at": "200 mm", "key.leads.0.mass": "600 g"},
    {"level-tracker.lost_motion": "-3 mm", "riser.lost_motion": "-1 mm"},
    {},
)
"""Notes that hang by a pin, and by nothing; mute, weak, starved; without stops, without wind; ciphers of two kinds."""


def alike(rows):
    found = rows.figures()
    assert tuple(found) == NAMES
    for name in NAMES:
        close = {"rtol": EXACT.get(name, 1e-13), "atol": 1e-14, "equal_nan": True}
        assert np.allclose(found[name], rows.by_note(name), **close), name
    told = rows.verdicts()
    assert told.all() == [verdict(note) for note in rows.notes]
    return found, told


def pressed(train, strokes=CASE.strokes):
    return press_note(NoteModel(train), strokes)


@pytest.mark.parametrize("strokes", [CASE.strokes, SOFT], ids=["gauge", "soft"])
def test_a_compass(strokes):
    notes = [pressed(train_of(CASE, note), strokes) for note in list(CASE.compass)[::4]]
    assert len({note.model.train.structure for note in notes}) == 1
    assert strokes is not SOFT or all(note.press.down.jumps and note.press.up.jumps for note in notes)
    alike(Rows(notes))


STAGED = ("two-stage-beam", "relief-pallet", "pneumatic-lever")


@pytest.mark.parametrize("kind", STAGED)
def test_kinds_in_stages(kind):
    of_kind(kind)


@pytest.mark.one_in(3)
@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in STAGED])
def test_kinds(kind):
    of_kind(kind)


def of_kind(kind):
    case = read_case(f"cases/kinds/{kind}.toml")
    train = train_of(case, next(iter(case.compass)))
    if kind == "two-pallets":
        assert not supported(train.structure)
    else:
        assert supported(train.structure)
        alike(Rows([pressed(train, case.strokes)]))


@lru_cache(maxsize=1)
def widely_scattered():
    train = train_of(CASE, "C4")
    trains = trains_of(train, scattered(train, 100, 3, 0.6))
    return trains, presses(trains, CASE.strokes, Batch.of(trains).rest())


def test_designs_that_scatter():
    notes = [one for one in widely_scattered()[1] if isinstance(one, Pressed)]
    found, told = alike(Rows(notes))
    fates = {FATES[fate] for fate in told.fates}
    assert {Fate.SPEAKS, Fate.MUTE, Fate.WEAK} <= fates
    settled = of_fates(found, told.fates)
    for i, note in enumerate(notes):
        one = of_verdict({name: float(values[i]) for name, values in found.items()}, verdict(note))
        assert {name: float(values[i]) for name, values in settled.items()} == pytest.approx(one, nan_ok=True, rel=0)
        assert bool(beyond(settled)[i]) == bool(impossible(one))


def test_figures_do_not_hang_on_the_last_digits_of_the_rest():
    # Where they did, machines that round otherwise told another work of the loop, by up to 2.5e-5 of it.
    train = train_of(CASE, "C4")
    trains = trains_of(train, scattered(train, 400, 5, 0.3)[[44, 142, 191, 220, 244, 302]])
    rest = Batch.of(trains).rest()
    digits = 1 + 1e-15 * np.random.default_rng(0).normal(size=rest.states.shape)
    both = [presses(trains, CASE.strokes, one) for one in (rest, replace(rest, states=rest.states * digits))]
    for name in NAMES:
        found, other = (np.array([QUANTITIES[name].compute(note) for note in notes]) for notes in both)
        assert other == pytest.approx(found, rel=1e-9, nan_ok=True), name


def test_notes_that_are_out_of_order():
    notes = [pressed(train_of(read_case("demo-wood", set_=changes), "C4")) for changes in ODD]
    groups = {}
    for note in notes:
        groups.setdefault(note.model.train.structure, []).append(note)
    told = [one for group in groups.values() for one in alike(Rows(group))[1].fates]
    assert {FATES[fate] for fate in told} == {
        Fate.HANGS, Fate.MUTE, Fate.WEAK, Fate.SPEAKS, Fate.NO_WIND, Fate.CIPHER,
    }  # fmt: skip
    starved = next(note for note in notes if "reaches 14 %" in verdict(note).reason)
    assert verdict(starved).fate is Fate.MUTE


@pytest.mark.parametrize(("at", "words"), [(0, "it rests 0.02 mm open"), (-1, "the pallet stays 0.02 mm open")])
def test_a_pallet_that_does_not_quite_shut(at, words):
    note = pressed(train_of(CASE, "C4"))
    down, up = note.press.down, note.press.up
    names, ways = down.balance.kernel.observables, [down.seen.copy(), up.seen.copy()]
    ways[at][at, names.index("seat_gap")] = 2e-5
    ways[at][at, names.index("groove_pressure")] = 0.01 * note.box_pressure
    ajar = replace(note, press=StaticPress(replace(down, seen=ways[0]), replace(up, seen=ways[1])))
    rows = Rows([ajar])
    told = rows.verdicts().one(0)
    assert told == verdict(ajar)
    assert told.fate is Fate.SPEAKS
    assert words in told.reason
    assert "1.0 % of the wind" in told.reason


def test_a_design_that_turns_too_far_says_so():
    trains, found = widely_scattered()
    far = [(train, str(one)) for train, one in zip(trains, found, strict=True) if isinstance(one, NotPlayed)]
    told = 0
    for train, words in far:
        model = DesignModel(train)
        ways = Ways(model, CASE.strokes.press_stiffness, CASE.strokes.dip_force)
        try:
            press = StaticPress(ways.course(1, ways.down), ways.course(-1, ways.back()))
        except RuntimeError:  # one that cannot be followed at all is nothing to read
            continue
        rows = Rows([Pressed(model, CASE.strokes, press)])
        assert rows.reader.turned(rows.out).tolist() == [True]
        assert rows.reader.turned_words(rows.out, 0) == words
        assert all(math.isnan(values[0]) for values in rows.figures().values())
        assert rows.verdicts().one(0).fate is Fate.UNKNOWN
        told += 1
    assert told > 3
    rows = Rows([pressed(train_of(CASE, "C4"))])
    assert rows.reader.turned_words(rows.out, 0) == ""


def test_what_iterations_leave_in_a_groove_is_none():
    rows = Rows([pressed(train_of(CASE, "C4"))])
    held = FIGURES.index("held_pressure")
    for share, left in ((1e-12, 0.0), (1e-6, 1e-6)):
        rows.out[0, held] = share * rows.reader.box(rows.parameters)[0]
        assert rows.figures()["groove_share"][0] == pytest.approx(left, rel=1e-12, abs=0)


def test_what_is_not_asked_for_is_not_read():
    rows = Rows([pressed(train_of(CASE, "C4"))])
    whole = rows.figures()
    rows.derived = {}
    for name in ("pluck_force", "groove_share", "train_frequency"):
        assert rows.figures([name]) == {name: whole[name]}


def test_a_design_that_was_not_pressed_is_not_known():
    rows = Rows([pressed(train_of(CASE, note)) for note in ("C4", "D4")])
    rows.out[0] = np.nan
    found, told = rows.figures(), rows.verdicts()
    assert all(math.isnan(values[0]) and math.isfinite(values[1]) for values in found.values())
    assert [told.one(i).fate for i in (0, 1)] == [Fate.UNKNOWN, Fate.SPEAKS]


def test_coupled_notes_are_not_read():
    assert not supported(train_of(read_case("cases/kinds/two-pallets.toml"), "C2").structure)
    assert PressReader(train_of(CASE, "C4").structure).columns.dtype == np.int64
