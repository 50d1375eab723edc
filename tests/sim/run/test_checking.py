"""What `check` remarks on before anything is played, and the drawing of the train."""

import re

import pytest
from short_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import check_trains, train_of
from keyaction.models.parts.key import Key
from keyaction.models.units.quantity import format_value
from keyaction.sim.figures.sketch import rigid, sketch, static_pluck
from keyaction.sim.run.checking import LIFT_RANGE, warnings
from keyaction.sim.run.standings import standings


def warned(case, notes):
    return warnings(case, standings(check_trains(case, notes), case.strokes))


def remarks(folder, *changes, more="", notes=None):
    case = read_case(write_case(folder, *changes, more=more))
    return warned(case, notes or case.compass)


def test_a_sound_case_has_none(tmp_path):
    assert remarks(tmp_path) == []


@pytest.mark.one_in(3)
@pytest.mark.parametrize("name", ["demo-wood", "demo-carbon"])
def test_the_shipped_cases_have_none(name):
    case = read_case(name)
    assert warned(case, case.compass) == []


def test_a_spring_too_weak_to_close_the_pallet_is_named_with_its_notes(tmp_path):
    lines = remarks(tmp_path, ('force = "3 N"', 'force = { between = "steps", C4 = "3 N", F4 = "0.01 N" }'))
    assert [line for line in lines if "would sound unplayed" in line] == [
        "F4 to G4: the spring does not close the pallet at zero wind: the note would sound unplayed (a cipher)"
    ]


def test_spring_and_wind_together_too_weak(tmp_path):
    lines = remarks(tmp_path, ('force = "3 N"', 'force = "0 N"'), ('pressure = "70 mmH2O"', 'pressure = "0 mmH2O"'))
    assert [line for line in lines if "would sound unplayed" in line] == [
        "C4 to G4: the spring does not close the pallet at zero wind: the note would sound unplayed (a cipher); "
        "spring and wind together do not close the pallet: the note sounds unplayed (a cipher)"
    ]


WIRE = 'moves = "down"'


def test_a_rod_so_tight_that_the_pallet_stands_off_its_seat(tmp_path):
    lines = remarks(tmp_path, (WIRE, f'{WIRE}\nlost_motion = "-3 mm"'))
    assert lines[0].startswith("C4, C#4, D4, D#4, E4, F4, F#4, G4: sounds unplayed (a cipher) (C4: the pallet stands ")
    # Drawn up a little it pulls at rest, and the seat still shuts; unusual it is.
    lines = remarks(tmp_path, (WIRE, f'{WIRE}\nlost_motion = "-0.02 mm"'))
    assert not [line for line in lines if "cipher" in line]
    assert [line for line in lines if "lost_motion" in line and "outside the usual 0 mm to 1.5 mm" in line]


def test_a_stop_that_leaves_no_gap(tmp_path):
    stop = 'opens = "down"', 'opens = "down"\nstop = {{ gap = "{}", squeeze = "0.5 mm", force = "3 N" }}'
    told = "the pallet's stop touches it before the gap opens: the note does not speak unless its felt gives way"
    assert f"C4 to G4: {told}" in remarks(tmp_path, (stop[0], stop[1].format("0.1 mm")))
    assert remarks(tmp_path, (stop[0], stop[1].format("6 mm"))) == []


@pytest.mark.parametrize(("force", "wind", "side"), [("0.5 N", "45 mmH2O", "below"), ("12 N", "70 mmH2O", "above")])
def test_a_touch_outside_the_usual(tmp_path, force, wind, side):
    changes = ('force = "3 N"', f'force = "{force}"'), ('pressure = "70 mmH2O"', f'pressure = "{wind}"')
    (line,) = [line for line in remarks(tmp_path, *changes) if ": pluck is " in line]
    assert line.startswith(f"C4 to G4: pluck is {side} ")
    assert all(format_value(limit, "N") in line for limit in Key.usual_pluck)


@pytest.mark.parametrize(("moment", "side"), [("0.47 N*m", "below"), ("-0.5 N*m", "above")])
def test_a_touch_outside_the_usual_by_the_weight_of_the_key_alone(tmp_path, moment, side):
    # Levers alone, which leave the key's weight out, call both usual.
    weight = 'material = "sitka-spruce"', f'material = "sitka-spruce"\nbalance_moment = "{moment}"'
    case = read_case(write_case(tmp_path, weight))
    assert Key.usual_pluck[0] < static_pluck(train_of(case, "C4")) < Key.usual_pluck[1]
    assert [line for line in warned(case, case.compass) if f": pluck is {side} " in line]


@pytest.mark.parametrize(("arm", "side"), [("100 mm", "below"), ("390 mm", "above")])
def test_a_lift_outside_the_usual(tmp_path, arm, side):
    lines = remarks(tmp_path, ('arm = "250 mm"', f'arm = "{arm}"'))
    assert f"C4 to G4: pallet lift is {side} 4 to 9 mm (common practice)" in lines


def test_an_opening_too_small_for_its_pipes(tmp_path):
    lines = remarks(tmp_path, ('area = "40 mm^2", drawn', 'area = "2000 mm^2", drawn'))
    (line,) = [line for line in lines if "of the wind" in line]
    assert line.startswith("C4, C#4, D4, D#4, E4, F4, F#4, G4: does not speak (C4: the groove reaches ")


def test_a_rod_that_would_buckle(tmp_path):
    pushed = (('part = "pull-down"', 'part = "sticker"'), ('diameter = "1.5 mm"', 'diameter = "0.4 mm"'))
    lines = remarks(tmp_path, *pushed)
    assert [line for line in lines if "buckle" in line] == [
        "C4 to G4: sticker would buckle in a slow press (Euler load, ends pivoted)"
    ]


def test_apart_notes_are_listed_and_many_are_counted(tmp_path):
    weak = "".join(f'\n[notes.{note}.pallet-spring]\nforce = "0.01 N"\n' for note in ("C4", "Ds4", "G4"))
    line = next(line for line in remarks(tmp_path, more=weak) if "would sound unplayed" in line)
    assert line.startswith("C4, D#4, G4: ")
    case = read_case("demo-wood", set_=[("pallet-spring.force", "0.01 N")])
    line = next(line for line in warned(case, case.compass[::2]) if "would sound unplayed" in line)
    assert line.startswith("C2, D2, E2, F#2, G#2, A#2, C3, D3 and 20 more: ")


# -- the drawing -----------------------------------------------------------------------------------------
def test_the_static_pluck_by_hand(short_case):
    train = train_of(short_case, 60)
    pallet = train.role("pallet").values.derived
    at_eye = pallet["wind_at_eye"].value + pallet["closing_no_wind"].value
    assert static_pluck(train) == pytest.approx(at_eye * 250 / 400, rel=1e-4)
    found = rigid(train)
    assert found.ways == {("pull-down", ""): pytest.approx(0.625)}
    assert found.turns == {("key", ""): pytest.approx(1 / 0.4), ("pallet", ""): pytest.approx(0.625 / 0.165)}
    assert LIFT_RANGE[0] < 0.0095 * found.last < LIFT_RANGE[1]


@pytest.mark.parametrize("units", ["trade", "si"])
def test_the_drawing_names_every_part_and_fits(wood, units):
    train = train_of(wood, 60)
    lines = sketch(train, units).split("\n")
    assert max(map(len, lines)) <= 80
    text = "\n".join(lines)
    places = [re.search(rf"(\[ |\+ |[v^>] ){re.escape(part.name)}\b", text).start() for part in train.parts]
    assert places == sorted(places)
    # Every rod of this train goes 150 : 230 of the key's way.
    rods = [line for line in lines if re.search(r"[v^>] ", line)]
    assert len(rods) == 4
    assert all(" 0.652 " in line for line in rods)


def test_the_masses_of_the_drawing_add_up(wood):
    train = train_of(wood, 60)
    masses = rigid(train).masses
    shown = [float(found[1]) for found in re.finditer(r"(\d[\d.]*) g$", sketch(train), re.MULTILINE)]
    assert sum(shown) == pytest.approx(1000 * sum(masses.values()), rel=0.01)
    assert len(shown) == len(masses)


def test_the_way_a_rod_moves_is_its_arrow(wood):
    text = sketch(train_of(wood, 60))
    assert "^ riser (tracker)" in text
    assert "> level-tracker (tracker)" in text
    assert "v drop (tracker)" in text
