"""Who gave how much before the pluck, and who weighs how much at the key: against lever ratios by hand."""

from types import SimpleNamespace

import numpy as np
import pytest
from short_case import write_case
from spellings import figures

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.figures.budgets import compliance_budget
from keyaction.sim.figures.play import press_note
from keyaction.sim.figures.quantities import effective_mass, mass_budget, pluck_point
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.statics.kinematics import kinematics


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
    for rod in ("riser", "level-tracker", "drop", "pull-down"):
        load = record.at_pluck(f"force_{rod}") - record.press.down[f"force_{rod}"][0]
        both = load / figure(train, rod, "k_rod") / lever
        own = load * train.part(rod).values.number("length") / figure(train, rod, "EA") / lever
        assert give[rod] == pytest.approx(own, rel=0.01), rod
        assert give[f"{rod} ends"] == pytest.approx(both - own, rel=0.01), rod


def test_a_splayed_rod_gives_as_much_more_as_its_pull_and_its_slant(wood):
    # Of its give, its own share and that of its ends both grow by 1/cos² under the same load along its way.
    straight, splayed = (
        press_note(NoteModel(train_of(case, 60)), case.strokes)
        for case in (wood, read_case("demo-wood", set_={"level-tracker.splay": "20 deg"}))
    )
    for name in ("level-tracker", "level-tracker ends"):
        gives = [
            compliance_budget(one)[name]
            / (one.at_pluck("force_level-tracker") - one.press.down["force_level-tracker"][0])
            for one in (straight, splayed)
        ]
        assert gives[1] / gives[0] == pytest.approx(1 / np.cos(np.radians(20)) ** 2, rel=1e-3), name


def test_each_body_bends_by_the_loads_of_its_rods(record, give):
    # Way of every hook under its rod's load, brought to the key by the lever: both arms of a lever together.
    train, lever = record.model.train, 0.150 / 0.230
    rods = ("riser", "level-tracker", "drop", "pull-down")
    bodies = ("key", "lower-square", "upper-square", "roller", "pallet")
    by_hand = dict.fromkeys(bodies, 0.0)
    for rod, before, behind in zip(rods, bodies, bodies[1:], strict=False):
        load = record.at_pluck(f"force_{rod}") - record.press.down[f"force_{rod}"][0]
        by_hand[before] += load * figure(train, before, "give_out") / lever
        by_hand[behind] += load * figure(train, behind, "give_in") / lever
    assert {name: give[f"{name} bending"] for name in bodies} == pytest.approx(by_hand, rel=0.01)
    assert sum(by_hand.values()) > 0.03 * pluck_point(record)


def test_stiff_bodies_have_no_share(record, give):
    stiff = [(f"{name}.bending", False) for name in ("key", "lower-square", "upper-square", "roller", "pallet")]
    found = compliance_budget(pressed(read_case("demo-wood", set_=stiff)))
    assert set(give) - set(found) == {name for name in give if name.endswith(" bending")}
    # The same loads stretch the rods as before; the pluck comes earlier by what had bent.
    bent = sum(share for name, share in give.items() if name.endswith(" bending"))
    assert pluck_point(record) - sum(found.values()) == pytest.approx(bent, rel=0.03)


def test_the_roller_gives_its_torque_over_its_stiffness(record, give):
    train = record.model.train
    pull = record.at_pluck("force_pull-down")
    wire = figure(train, "pull-down", "m") / 2 * 9.80665
    load = abs(pull - figure(train, "roller", "W") / 2)  # the wire pulls up, the shaft weighs down
    rubbed = figure(train, "roller", "tau0_out") + figure(train, "roller", "c_out") * load
    # The far arm pulls against load and pin; at rest the load was smaller and nothing rubbed.
    torque = (pull - record.press.down["force_pull-down"][0]) * 0.060 + rubbed
    assert abs(wire * 0.060) < 0.02 * torque  # the wire's own weight is there before and after
    twist = torque / figure(train, "roller", "K")
    assert give["roller twist"] == pytest.approx(twist * 0.060 / (0.150 / 0.230), rel=0.01)


def test_the_seat_gives_its_squeeze(record, give):
    train = record.model.train
    turned = figures(train)["q_open_pallet"].value - record.press.down["q_pallet"][0]
    assert give["pallet seat"] == pytest.approx(turned * 0.170 / (0.150 / 0.230), rel=1e-3)


def test_lost_motion_counts_by_the_lever(give):
    # 0.3 mm at the drop is 0.46 mm at the key; the rods before it stretch a little until the last one carries.
    assert 0.3e-3 / (0.150 / 0.230) < give["lost motion"] < 1.25 * 0.3e-3 / (0.150 / 0.230)


def test_lost_motion_is_the_play_and_what_the_resting_train_gives_besides(record, give):
    # What sim/README.md tells of C4: the play by the levers, the rods' hanging, the key's lift, 10 mN on every rod.
    train, lever, rest = record.model.train, 0.150 / 0.230, record.press.down
    play, lift = -rest["stretch_level-tracker"][0] - rest["stretch_riser"][0], -rest.rest
    tail = figure(train, "riser", "m") / 2 * 9.80665 + rest["force_riser"][0]  # the riser's weight on the key
    alone, hung = ((m - figure(train, "key", "B")) / 0.230 / figure(train, "key", "K_rest") for m in (0, tail * 0.150))
    assert lift == pytest.approx(hung ** (2 / 3) - alone ** (2 / 3), rel=1e-3)
    assert lift == pytest.approx(12.5e-6, abs=0.1e-6)
    assert play - lift * lever == pytest.approx(0.319e-3, abs=0.5e-6)
    assert give["lost motion"] == pytest.approx(0.512e-3, abs=0.5e-6)
    assert give["lost motion"] - play / lever == pytest.approx(9e-6, abs=1.5e-6)


def test_a_pallet_that_never_opens_has_no_budget(record):
    shut = press_note(
        NoteModel(train_of(read_case("demo-wood", set_={"drop.lost_motion": "8 mm"}), 60)), record.strokes
    )
    assert compliance_budget(shut) == {}


def played(folder, *changes):
    """Budget and pluck point of the lowest note of the short case with some changes."""
    found = pressed(read_case(write_case(folder, *changes)))
    return compliance_budget(found), pluck_point(found)


def pressed(case):
    """As much of a record as the slow press gives."""
    return press_note(NoteModel(train_of(case, 60)), case.strokes)


WIRE = 'moves = "down"'


def test_a_rigid_rod_gives_nothing_and_its_play_goes_to_lost_motion(tmp_path):
    # Tail-heavy: the key's own weight does not take up the play.
    light = ('stick_tail = "10 mm"', 'stick_tail = "10 mm"\nbalance_moment = "-50 N*mm"')
    rod = (WIRE, f'{WIRE}\nstiffness = "1e6 N/m"\nlost_motion = "0.5 mm"\ndamping = "50 s/m"')
    rigid, _ = played(tmp_path, rod, light)
    assert 0 < rigid["pull-down"] < 1e-5
    assert "pull-down ends" not in rigid
    assert rigid["lost motion"] == pytest.approx(0.5e-3 * 400 / 250, rel=0.02)


def test_a_rod_in_pieces_gives_as_much_as_a_whole_one(record):
    found = pressed(read_case("demo-wood", set_=[("level-tracker.pieces", 4)]))
    whole, pieces = compliance_budget(record), compliance_budget(found)
    assert set(pieces) == set(whole) - {"level-tracker ends"}
    assert pieces["level-tracker"] == pytest.approx(whole["level-tracker"] + whole["level-tracker ends"], rel=0.02)
    assert sum(pieces.values()) == pytest.approx(pluck_point(record), rel=0.01)


@pytest.mark.parametrize("rod", ["riser", "level-tracker", "drop", "pull-down"])
def test_any_rod_can_be_cut_into_pieces(rod):
    train = train_of(read_case("demo-wood", set_=[(f"{rod}.pieces", 2)]), 60)
    names = [coordinate.name for coordinate in train.system().coordinates]
    assert [name for name in names if name.startswith(rod)] == [f"{rod}-1", f"{rod}-2"]


# -- mass ------------------------------------------------------------------------------------------------
ARMS = [("lower-square.out_arm", "70 mm"), ("upper-square.in_arm", "40 mm"), ("roller.out_arm", "45 mm")]


def at_rest(model):
    """As much of a record as the mass budget reads."""
    found = kinematics(model.train.structure)
    rest = model.rest()[: len(found.coordinates)]
    return SimpleNamespace(model=model, kinematics=found, rest=rest)


@pytest.mark.parametrize("arms", [[], ARMS], ids=["all one to one", "uneven arms"])
def test_every_part_weighs_its_inertia_by_its_lever_ratio_squared(arms):
    model = NoteModel(train_of(read_case("demo-wood", set_=arms), 60))
    train = model.train

    def out_per_in(part):
        return figure(train, part, "r_out") / figure(train, part, "r_in")

    first = 0.150 / 0.230
    second = first * out_per_in("lower-square")
    third = second * out_per_in("upper-square")
    fourth = third * out_per_in("roller")
    by_hand = {
        "key": figure(train, "key", "J") / 0.230**2,
        "riser": figure(train, "riser", "m") * first**2,
        "lower-square": figure(train, "lower-square", "J") * (first / figure(train, "lower-square", "r_in")) ** 2,
        "level-tracker": figure(train, "level-tracker", "m") * second**2,
        "upper-square": figure(train, "upper-square", "J") * (second / figure(train, "upper-square", "r_in")) ** 2,
        "drop": figure(train, "drop", "m") * third**2,
        "roller": figure(train, "roller", "J") * (third / figure(train, "roller", "r_in")) ** 2,
        "pull-down": figure(train, "pull-down", "m") * fourth**2,
        "pallet": figure(train, "pallet", "J") * (fourth / 0.170) ** 2,
    }
    found = mass_budget(at_rest(model))
    assert list(found) == list(by_hand)  # in train order
    assert found == pytest.approx(by_hand, rel=2e-3)
    assert effective_mass(at_rest(model)) == pytest.approx(sum(by_hand.values()), rel=1e-3)


def test_the_ratios_are_those_of_the_arms():
    model = NoteModel(train_of(read_case("demo-wood", set_=ARMS), 60))
    found = kinematics(model.train.structure)
    q, p = np.zeros(len(found.coordinates)), model.parameters()
    ratios = dict(zip(found.coordinates, found.ratios(q, p), strict=True))
    assert ratios["key"] == pytest.approx(1 / 0.230)
    assert ratios["lower-square"] == pytest.approx(0.150 / 0.230 / 0.050)
    assert ratios["upper-square"] == pytest.approx(0.150 / 0.230 * 70 / 50 / 0.040)
    assert ratios["pallet"] == pytest.approx(0.150 / 0.230 * 70 / 50 * 50 / 40 * 45 / 60 / 0.170)
