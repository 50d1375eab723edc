"""Weigh-off of keys that open several pallets, or one in two pieces: through all of them, by statics and by masses."""

import math

import pytest
from command_line import Keyaction

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.strokes import usual_strokes
from keyaction.cases.action.trains import train_of
from keyaction.sim.figures.play import press_note
from keyaction.sim.motion.drives import laid_mass
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.weighing.weighoff import OPENED, by_masses, by_statics, opening_gaps, weigh_note

GRAM = 9.80665e-3


@pytest.fixture(scope="module", params=["two-pallets", "relief-pallet"])
def model(request):
    return NoteModel(train_of(read_case(request.param), "C2"))


def test_the_down_weight_is_the_highest_force_until_the_last_is_off(model):
    pressed = press_note(model, usual_strokes())
    found = by_statics(model)
    names = opening_gaps(model)
    assert len(names) == 2
    open_at = max(pressed.press.down.place(name, OPENED) for name in names)
    most = pressed.press.down.force[: int(open_at) + 1].max()
    assert found.down == pytest.approx(most, rel=0.01)
    # The first one lets go far before that.
    first = by_first(pressed, names[0])
    assert found.down > 1.3 * first


def by_first(pressed, name):
    down = pressed.press.down
    return down.force[: int(down.place(name, OPENED)) + 1].max()


@pytest.mark.one_in(2)
def test_a_gram_less_leaves_the_last_shut_and_the_down_weight_opens_all(model):
    static = by_statics(model)
    laid = by_masses(model, static)
    assert laid.down == pytest.approx(static.down, abs=2 * GRAM)
    assert laid.up == pytest.approx(static.up, abs=2 * GRAM)
    grams = round(laid.down / GRAM)
    names = opening_gaps(model)
    (short, enough) = (
        [float(model.play(laid_mass(one / 1000, 2.0, 1.0))[name][-1]) for name in names] for one in (grams - 1, grams)
    )
    assert min(enough) >= OPENED > min(short)
    assert max(short) > 0.0  # the first is open already


def test_two_pallets_weigh_what_run_plucks():
    model = NoteModel(train_of(read_case("two-pallets"), "C2"))
    assert by_statics(model).down == pytest.approx(press_note(model, usual_strokes()).press.pluck_force, rel=2e-3)


def test_down_and_up_at_different_places_make_no_friction(model):
    found = weigh_note(36, model.train)
    assert found.stages
    assert math.isfinite(found.off.down) and math.isfinite(found.off.up)
    assert math.isnan(found.friction) and math.isnan(found.spring_and_balance)
    assert found.wind > 0.0
    assert not weigh_note(36, train_of(read_case("demo-wood"), "C2")).stages


def test_heavy_keys_keep_their_headings(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    keyaction = Keyaction(tmp_path, capsys)
    told = keyaction("weigh", "demo-instrument", "--division", "pedal", "--notes", "C2", "--laid", "none")
    assert any(line.startswith("note ") for line in told.out.splitlines())
    assert max(map(len, told.out.splitlines())) <= 80
