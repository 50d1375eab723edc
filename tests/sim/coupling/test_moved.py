"""What couplers move, from the structure alone."""

from coupled_trains import coupler, members, pair, three
from demo_train import LIBRARY

from keyaction.models.train.train import build_train
from keyaction.sim.coupling.moved import others_onto, pallets_behind


def test_one_coupler_moves_the_driven_pallet():
    assert pallets_behind(pair().structure, "coupler-ii-i") == ("high-pallet",)


def test_in_chain_the_first_moves_all_that_follows():
    chain = three(chain=True).structure
    assert pallets_behind(chain, "coupler-ii-i") == ("high-pallet", "far-pallet")
    assert pallets_behind(chain, "coupler-iii") == ("far-pallet",)
    assert others_onto(chain, "coupler-iii") == ("coupler-ii-i",)
    assert others_onto(chain, "coupler-ii-i") == ()


def test_side_by_side_each_moves_its_own():
    beside = three(chain=False).structure
    assert pallets_behind(beside, "coupler-ii-i") == ("high-pallet",)
    assert others_onto(beside, "coupler-iii") == ()


def test_two_couplers_onto_one_note():
    parts = [*members(), *members("high-")]
    both = [coupler("coupler-a", "hook", "key", "high-key"), coupler("coupler-b", "sticker", "key", "high-key")]
    train = build_train([*parts, *both], LIBRARY)
    assert others_onto(train.structure, "coupler-a") == ("coupler-b",)
