"""Sizes of a part that contradict each other, and parts that do not fit: refused by name, or warned of."""

import pytest
from demo_train import DEMO, demo, train_of

from keyaction.models.train.train import TrainProblem

HUNG = [one for one in DEMO if one[1] in ("key", "pd", "pallet", "spring", "groove", "box")]


def defects(**changes):
    with pytest.raises(TrainProblem) as caught:
        demo(**changes)
    return caught.value.defects


def told(train):
    return [one.text for one in train.warnings]


def new(**changes):
    """What is warned of that the train as it stands is not."""
    return [text for text in told(demo(**changes)) if text not in told(demo())]


def test_the_train_itself_is_sound():
    assert told(demo()) == []


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"pallet.eye": "239 mm"}, "pallet, field eye = 239 mm: the eye is beyond the free end of the pallet; allowed: "
                                   "up to 238 mm"),
        ({"spring.at": "239 mm"}, "spring, field at = 239 mm: the spring bears beyond the free end of the pallet; "
                                  "allowed: up to 238 mm"),
        ({"pallet.opening_length": "910 mm"}, "pallet, field opening_length = 910 mm: longer than the groove; allowed: "
                                              "up to 900 mm"),
        ({"pallet.opening_width": "221 mm", "pallet.overlap": "3 mm"}, "pallet, field opening_width = 221 mm: the "
         "opening is wider than it is long; allowed: up to 220 mm"),
        ({"pallet.thickness": "1.9 mm"}, "pallet, field pin.diameter = 2 mm: the hinge's pin is thicker than the "
                                         "pallet; allowed: up to 1.9 mm"),
        ({"pallet.seat.area": "6000 mm^2"}, "pallet, field seat.area = 6000 mm²: more than the pallet's face; allowed: "
                                            "up to 5198 mm²"),
        ({"key.front": "251 mm"}, "key, field front = 251 mm: the finger presses beyond the front end of the stick; "
                                  "allowed: up to 250 mm"),
        ({"key.rest_felt_at": "251 mm"}, "key, field rest_felt_at = 251 mm: beyond the ends of the stick; allowed: up "
                                         "to 250 mm"),
        ({"key.leads.0.at": "-201 mm"}, "key, field leads.0.at = -201 mm: beyond the ends of the stick; allowed: "
                                        "-200 mm to 250 mm"),
        ({"key.pin.diameter": "23 mm"}, "key, field pin.diameter = 23 mm: thicker than the key's stick; allowed: up to "
                                        "22 mm"),
        ({"key.rest_felt.thickness": "0.4 mm"}, "key, field rest_felt.squeeze = 0.5 mm: more than the felt is thick; "
                                                "allowed: up to 0.4 mm"),
        ({"sq1.pin.diameter": "16 mm"}, "sq1, field pin.diameter = 16 mm: thicker than the arms are wide; allowed: up "
                                        "to 15 mm"),
        ({"roller.pin.diameter": "26 mm"}, "roller, field pin.diameter = 26 mm: thicker than the roller; allowed: up "
                                           "to 25 mm"),
        ({"roller.section": "tube", "roller.diameter": "12 mm", "roller.wall": "6.1 mm"},
         "roller, field wall = 6.1 mm: thicker than the tube's radius; allowed: up to 6 mm"),
    ],
)  # fmt: skip
def test_the_impossible_is_refused_with_what_is_allowed(changes, expected):
    assert expected in defects(**changes)


@pytest.mark.parametrize(
    ("changes", "at_the_limit"),
    [
        ({"pallet.eye": "239 mm"}, {"pallet.eye": "238 mm"}),
        ({"spring.at": "239 mm"}, {"spring.at": "238 mm"}),
        ({"key.front": "251 mm"}, {"key.front": "250 mm"}),
        ({"key.leads.0.at": "-201 mm"}, {"key.leads.0.at": "-200 mm"}),
    ],
)
def test_the_limit_itself_is_allowed(changes, at_the_limit):
    assert defects(**changes)
    demo(**at_the_limit)


def test_all_defects_come_at_once_beside_missing_fields():
    found = defects(**{"pallet.eye": "2 m", "key.front": "1 m", "spring.at": "1 m", "t2.material": None})
    assert [text.split(" = ")[0] for text in found] == [
        "key, field front",
        "t2, field stiffness: give it, or else material", "t2, field mass: give it, or else material",
        "pallet, field eye", "spring, field at",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"pallet.eye": "100 mm"}, "pallet: eye = 100 mm: less than half of the pallet's length"),
        ({"spring.at": "30 mm"}, "spring: at = 30 mm: less than a fifth of the pallet's length"),
        ({"pallet.sealing_margin": "4 mm"}, "pallet: sealing_margin = 4 mm: the leather seals beyond the wood"),
        ({"pallet.hinge_to_opening": "1 mm"}, "the leather seals behind the hinge"),
        ({"pallet.sealing_margin": "0.02 mm"}, "not to be told from 0 mm"),
        ({"pallet.opening_width": "19 mm"}, "pallet: opening_width = 19 mm: the opening is wider than the groove"),
        ({"key.arm": "210 mm"}, "key: arm = 210 mm: the first rod is beyond the tail end of the stick"),
        ({"key.bottom_felt.thickness": "10 mm"}, "bottom_felt.thickness = 10 mm: thicker than the key's dip"),
        ({"key.leads.0.mass": "1 g"}, "front-heavy: nothing but the pallet's spring keeps the key up"),
        ({"key.leads.0.mass": "150 g"}, "tail-heavy: the key is kept up by more than"),
        ({"t3.lost_motion": "0.03 mm"}, "t3: lost_motion = 0.03 mm: less than the thinnest feeler blade"),
        ({"pd.length": "7 mm"}, "pd: length = 7 mm: less than 5 times its width"),
        ({"sq1.out_arm": "300 mm"}, "sq1: out_arm = 300 mm: outside the usual 1/5 to 5 times the other arm"),
        ({"roller.length": "25 mm"}, "roller: in_arm = 60 mm: more than twice the length of the roller"),
        ({"t1.moves": "down"}, 't1: moves = "down": the rod at a balanced key goes up when it is played'),
        ({"pallet.opens": "up"}, 'pd: moves = "down": the pallet that it leads to opens up'),
    ],
)
def test_the_odd_is_warned_of(changes, words):
    assert any(words in text for text in new(**changes)), new(**changes)


def test_no_play_and_no_margin_are_not_odd():
    assert not any("lost_motion" in text or "margin" in text for text in new(**{"t3.lost_motion": 0.0}))
    assert not any("margin" in text for text in new(**{"pallet.sealing_margin": 0.0}))


# -- measured beside sizes -------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("path", "sized"),
    [
        ("key.inertia", ("key", "J")), ("sq1.inertia", ("sq1", "J")), ("t2.mass", ("t2", "m")),
        ("t2.stiffness", ("t2", "k")), ("roller.torsional_stiffness", ("roller", "K")),
        ("pallet.mass", ("pallet", "m")),
    ],
)  # fmt: skip
def test_a_measured_figure_is_held_against_the_sizes(path, sized):
    """Remarked on beyond three times either way, and only then."""
    value = demo().value(*sized)
    for factor, odd in ((1.0, False), (2.9, False), (3.1, True), (1 / 2.9, False), (1 / 3.1, True)):
        remarks = [text for text in new(**{path: value * factor}) if "than the sizes give" in text]
        assert bool(remarks) is odd, (factor, remarks)


def test_a_measured_mass_on_a_pin_is_held_against_the_sizes_too():
    weight = demo().value("key", "W") / 9.80665
    assert any("key: mass" in text and "3 times less" in text for text in new(**{"key.mass": weight / 4}))
    assert not any("key: mass" in text for text in new(**{"key.mass": weight}))


def test_nothing_is_compared_where_the_material_lacks_what_the_sizes_need():
    # A felt has neither density nor G: what was measured holds, and the lack is no defect.
    lacking = {"roller.material": "key-felt"}
    measured = {"roller.torsional_stiffness": 100.0, "roller.inertia": 1e-4, "roller.mass": 0.2}
    assert any("key-felt" in text for text in defects(**lacking))
    assert not any("sizes give" in text for text in new(**lacking, **measured))


# -- what pushes -----------------------------------------------------------------------------------------
def pushing(balance, moves, opens="down"):
    """A key that reaches its pallet by a sticker."""
    rod = ("sticker", "pd", {**dict(HUNG[1][2]), "moves": moves})
    return train_of([HUNG[0], rod, *HUNG[2:]], **{"key.balance": balance, "pallet.opens": opens})


@pytest.mark.parametrize(("balance", "moves", "goes"), [("tail-hinged", "up", "down"), ("balanced", "down", "up")])
def test_a_key_cannot_push_a_sticker_against_its_own_way(balance, moves, goes):
    with pytest.raises(TrainProblem) as caught:
        pushing(balance, moves, opens="sideways")
    kind = "hung" if balance == "tail-hinged" else balance
    assert caught.value.defects == (
        f'pd, field moves = "{moves}": the rod at a {kind} key goes {goes} when it is played; allowed: {goes}, or '
        "level where guides carry its weight",
    )


@pytest.mark.parametrize(("balance", "moves"), [("tail-hinged", "down"), ("balanced", "up"), ("tail-hinged", "level")])
def test_a_sticker_that_goes_with_the_key_is_sound(balance, moves):
    assert not any("moves" in text for text in told(pushing(balance, moves, opens="sideways")))


# -- wire ------------------------------------------------------------------------------------------------
WIRE = {
    "force": None, "rate": None, "wire.diameter": "1.4 mm", "wire.material": "spring-brass",
    "wire.coil_diameter": "25 mm", "wire.turns": 1.0, "wire.arm": "120 mm", "wire.free_gape": "190 mm",
    "wire.closed_gape": "70 mm",
}  # fmt: skip


def wire(**fields):
    return {f"spring.{name}": value for name, value in {**WIRE, **fields}.items()}


def test_a_wire_that_can_be_wound_and_presses():
    assert not any("spring" in text for text in new(**wire()))
    for field, value, words in (
        ("wire.diameter", "26 mm", "thicker than its coils are wide; allowed: up to 25 mm"),
        ("wire.closed_gape", "191 mm", "wider than the free spring: it does not press; allowed: up to 190 mm"),
        ("wire.free_gape", "266 mm", "wider than both legs reach; allowed: up to 265 mm"),
    ):
        assert f"spring, field {field} = {value}: {words}" in defects(**wire(**{field: value}))
