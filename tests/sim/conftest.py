"""What the tests of `sim` share: a short case, and one real note played once."""

import pytest
from short_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.figures.play import play_record
from keyaction.sim.lanes.repetition import lane_rates
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.run.run import run


@pytest.fixture
def case_file(tmp_path):
    """The short case in a folder of its own."""
    return write_case(tmp_path)


@pytest.fixture(scope="session")
def short_case(tmp_path_factory):
    return read_case(write_case(tmp_path_factory.mktemp("case")))


@pytest.fixture(scope="session")
def short_model(short_case):
    return NoteModel(train_of(short_case, short_case.compass[0]))


@pytest.fixture(scope="session")
def short_result(short_case):
    """Three neighbours of the short case."""
    return run(short_case, "C4:D4")


@pytest.fixture(scope="session")
def wood():
    return read_case("demo-wood")


@pytest.fixture(scope="session")
def record(wood):
    """Middle C of the wooden demo, played as `run` plays it."""
    train = train_of(wood, 60)
    return play_record(NoteModel(train), wood.strokes, lane_rates({60: train}, wood.strokes, 1)[60])


SMOOTH = {
    "key.pin.coefficient": 0.0,
    "key.pin.breakaway": "0 N*mm",
    "pallet.pin.coefficient": 0.0,
    "pallet.pin.breakaway": "0 N*mm",
    "pallet-spring.rate": "0 N/m",
    "strokes.press_stiffness": "1000 N/mm",
}


@pytest.fixture(scope="session")
def smooth(tmp_path_factory):
    """The short case, nothing in it rubbing: its pluck force has a closed form."""
    return read_case(write_case(tmp_path_factory.mktemp("smooth")), set_=SMOOTH)
