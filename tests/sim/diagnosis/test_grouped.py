"""One kind of probability in a sentence, and the table as the sentences."""

from dataclasses import replace

import pytest

import keyaction as ka
from keyaction.cases.action.trains import check_trains
from keyaction.sim.diagnosis.faults import FAULTS, FEW
from keyaction.sim.diagnosis.found import Cause, Named
from keyaction.sim.diagnosis.grouped import cause_said, instead, second_name, shared_place
from keyaction.sim.diagnosis.hypotheses import hypotheses
from keyaction.sim.diagnosis.words import amount, short


class Note:
    """Of a note what sentences need."""

    def __init__(self, causes, rival, sharing=()):
        self.causes, self.rival, self.sharing = causes, rival, sharing


@pytest.fixture(scope="module")
def faults():
    case = ka.read_case("demo-wood")
    return hypotheses(check_trains(case, [64])[64])


@pytest.fixture(scope="module")
def pins(faults):
    found = [one for one in faults if one.fault.name == "dirty-pin"]
    return [Named(one, share, 0.3, 0.2, 0.4) for one, share in zip(found, (0.5, 0.3, 0.2), strict=False)]


def test_which_of_a_group_is_not_known(pins):
    said = cause_said(Cause("rubs", 0.999, tuple(pins)), "trade")
    assert said.startswith("something rubs; > 99 %; which is not known: pin of key 50 %, pin of lower-square 30 %")


def test_one_that_stands_for_its_group_has_its_own_probability(pins):
    said = cause_said(Cause("rubs", 0.98, (replace(pins[0], probability=0.95), pins[1])), "trade")
    assert said.startswith("a pin rubs: key, ")
    assert said.endswith("; 95 %")


def test_the_table_names_second_what_the_sentence_does(pins, faults):
    group = Cause("rubs", 0.999, tuple(pins))
    assert instead(Note([group], pins[1])) is None
    assert second_name(Note([group], pins[1])) == ("", "")
    spring = Named(next(one for one in faults if one.fault.name == "strong-spring"), 0.2, 0.3, 0.2, 0.4)
    assert second_name(Note([group], spring)) == ("or spring strong", "20 %")
    lead = replace(spring, hypothesis=next(one for one in faults if one.fault.name == "front-light"))
    assert second_name(Note([group], spring, (spring,))) == ("= spring strong", "20 %")
    assert second_name(Note([group], spring, (spring, lead))) == ("= spring strong (+1)", "20 %")
    said = shared_place(Note([group], spring, (spring, lead)))
    assert "the pallet spring is strong (20 %) or the key's front is lighter (20 %): these figures do not part" in said
    beside = Cause("spring", 0.9, (replace(spring, probability=0.9),))
    assert second_name(Note([group, beside], pins[1])) == ("and spring strong", "90 %")


def test_every_fault_has_words_of_its_own_for_a_table():
    words = [short(one) for one in (*FAULTS.values(), *FEW)]
    assert len(set(words)) == len(words) and not any("-" in one.replace("pull-down", "") for one in words)


def test_amounts_are_told_as_the_tools_read():
    assert amount("nut", 0.509e-3, "trade") == "0.5 mm"
    assert amount("friction", 35.2e-3 * 9.80665, "trade") == "35 gf"
    assert amount("nut", 0.03e-3, "trade") == "0.03 mm"  # never nothing
