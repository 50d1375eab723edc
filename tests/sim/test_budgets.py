"""Who gave how much before the pluck, and who weighs how much at the key: against lever ratios by hand."""

from types import SimpleNamespace

import numpy as np
import pytest
from keyaction.sim.budgets import compliance_budget
from keyaction.sim.kinematics import kinematics
from keyaction.sim.measure import value_at
from keyaction.sim.note import NoteModel
from keyaction.sim.play import play_record
from keyaction.sim.quantities import effective_mass, mass_budget, pluck_point
from keyaction.sim.manual import train_of
from keyaction.cases.reader import read_case
from short_case import write_case


def figure(train, part, name):
    return train.part(part).values.derived[name].value


# -- give ------------------------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def give(record):
    return compliance_budget(record)


def test_the_shares_add_up_to_the_pluck_point(record, give):
    assert sum(give.values()) == pytest.approx(pluck_point(record), rel=1e-12)
    # The rest that no part accounts for is small: the shares are no mere bookkeeping.
    assert abs(give["friction and geometry"]) < 0.01 * pluck_point(record)
    assert all(share > 0 for name, share in give.items() if name != "friction and geometry")


def test_each_rod_gives_its_load_over_its_stiffness(record, give):
    train = record.model.train
    lever = 0.150 / 0.230  # all levers of the demo beyond the key are 1 : 1
    for rod in ("riser", "run", "drop", "pull-down"):
        load = value_at(record.slow.t, record.slow[f"force_{rod}"], record.pluck_time)
        load -= record.slow[f"force_{rod}"][0]
        both = load / figure(train, rod, "k") / lever
        own = load * train.part(rod).values.number("length") / figure(train, rod, "EA") / lever
        assert give[rod] == pytest.approx(own, rel=0.01), rod
        assert give[f"{rod} ends"] == pytest.approx(both - own, rel=0.01), rod


def test_the_roller_gives_its_torque_over_its_stiffness(record, give):
    load = value_at(record.slow.t, record.slow["force_drop"], record.pluck_time)
    twist = load * 0.060 / figure(record.model.train, "roller", "K")
    # As key travel: the angle at the arm, by the key's lever; friction at the far pin takes a little of the torque.
    assert give["roller twist"] == pytest.approx(twist * 0.060 / (0.150 / 0.230), rel=0.02)


def test_the_seat_gives_its_squeeze(record, give):
    train = record.model.train
    at_eye = train.parameters["q_open_pallet"].value * 0.170
    assert give["pallet seat"] == pytest.approx(at_eye / (0.150 / 0.230), rel=0.01)


def test_lost_motion_counts_by_the_lever(record, give):
    # 0.3 mm at the drop is 0.46 mm at the key; the rods before it stretch a little until the last one carries.
    assert 0.3e-3 / (0.150 / 0.230) < give["lost motion"] < 1.25 * 0.3e-3 / (0.150 / 0.230)


def test_a_pallet_that_never_opens_has_no_budget(record):
    shut = SimpleNamespace(pluck_time=float("nan"), slow=record.slow, model=record.model)
    assert compliance_budget(shut) == {}


@pytest.fixture(scope="module")
def changed(tmp_path_factory):
    """Budget and pluck point of the short case's lowest note with another pull-down."""

    def played(more):
        folder = tmp_path_factory.mktemp("rod")
        path = write_case(folder, ('diameter = "1.5 mm"\nmoves', f'diameter = "1.5 mm"\n{more}\nmoves'))
        case = read_case(path)
        found = play_record(NoteModel(train_of(case, 60)), case.strokes)
        return compliance_budget(found), pluck_point(found)

    return played


def test_a_rod_in_pieces_gives_as_much_as_a_whole_one(changed):
    whole, whole_point = changed("pieces = 0")
    pieces, point = changed("pieces = 4")
    assert set(pieces) == set(whole) - {"pull-down ends"}
    assert pieces["pull-down"] == pytest.approx(whole["pull-down"] + whole["pull-down ends"], rel=0.02)
    assert point == pytest.approx(whole_point, rel=0.01)


def test_a_rigid_rod_gives_nothing_and_its_play_goes_to_lost_motion(changed):
    rigid, _ = changed('stiffness = "1e8 N/m"\nlost_motion = "0.5 mm"')
    assert rigid["pull-down"] < 1e-7
    assert "pull-down ends" not in rigid
    # The arms are 250 : 400 mm; beyond the play the seat has given a little by the time the rod carries 10 mN.
    assert rigid["lost motion"] == pytest.approx(0.5e-3 * 400 / 250, rel=0.05)


# -- mass ------------------------------------------------------------------------------------------------
ARMS = {"sq1.out_arm": "70 mm", "sq2.in_arm": "40 mm", "roller.out_arm": "45 mm"}


def at_rest(model):
    """As much of a record as the mass budget reads."""
    found = kinematics(model.train.structure)
    rest = model.rest()[: len(found.coordinates)]
    return SimpleNamespace(model=model, kinematics=found, slow=None, coordinates=lambda _, __: rest)


@pytest.mark.parametrize("arms", [{}, ARMS], ids=["all one to one", "uneven arms"])
def test_every_part_weighs_its_inertia_by_its_lever_ratio_squared(make_model, arms):
    model = make_model(**arms)
    train = model.train

    def out_per_in(part):
        return figure(train, part, "r_out") / figure(train, part, "r_in")

    first = 0.150 / 0.230
    second = first * out_per_in("sq1")
    third = second * out_per_in("sq2")
    fourth = third * figure(train, "roller", "r_out") / figure(train, "roller", "r_in")
    by_hand = {
        "key": figure(train, "key", "J") / 0.230**2,
        "t1": figure(train, "t1", "m") * first**2,
        "sq1": figure(train, "sq1", "J") * (first / figure(train, "sq1", "r_in")) ** 2,
        "t2": figure(train, "t2", "m") * second**2,
        "sq2": figure(train, "sq2", "J") * (second / figure(train, "sq2", "r_in")) ** 2,
        "t3": figure(train, "t3", "m") * third**2,
        "roller": figure(train, "roller", "J") * (third / figure(train, "roller", "r_in")) ** 2,
        "pd": figure(train, "pd", "m") * fourth**2,
        "pallet": figure(train, "pallet", "J") * (fourth / 0.200) ** 2,
    }
    found = mass_budget(at_rest(model))
    assert list(found) == list(by_hand)  # in train order
    assert found == pytest.approx(by_hand, rel=2e-3)
    assert effective_mass(at_rest(model)) == pytest.approx(sum(by_hand.values()), rel=1e-3)


def test_the_ratios_are_those_of_small_steps(make_model):
    # Turn the key a little and follow the taut rods: the ways of the far end agree with the ratios.
    model = make_model(**ARMS)
    found = kinematics(model.train.structure)
    q, p = np.zeros(len(found.coordinates)), model.parameters()
    ratios = dict(zip(found.coordinates, found.ratios(q, p), strict=True))
    assert ratios["key"] == pytest.approx(1 / 0.230)
    assert ratios["sq1"] == pytest.approx(0.150 / 0.230 / 0.050)
    assert ratios["sq2"] == pytest.approx(0.150 / 0.230 * 70 / 50 / 0.040)
    assert ratios["pallet"] == pytest.approx(0.150 / 0.230 * 70 / 50 * 50 / 40 * 45 / 60 / 0.200)
