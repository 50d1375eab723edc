"""What is remarkable about coupled notes before they are played: against coupled figures, and of driven pallets."""

import pytest
from coupled_runs import THIRD, WINDLESS
from small_couplers import SWELL, write_coupled

from keyaction.cases.instrument.reader import read_instrument
from keyaction.models.parts.key import Key
from keyaction.sim.run.checking import warnings
from keyaction.sim.run.coupling import coupling_of
from keyaction.sim.run.standings import standings


def told(folder, changes=(), held=()):
    """The warnings of C4 of the small instrument with both couplers drawn."""
    organ = read_instrument(write_coupled(folder, SWELL, THIRD, changes=changes))
    case, train = organ.divisions["great"], coupling_of(organ, "II/I,II/I 6", held).note("great", 60).train()
    return warnings(case, standings({60: train}, case.strokes, 1))


def test_a_coupled_key_is_held_against_coupled_ones(tmp_path, monkeypatch):
    monkeypatch.setattr(Key, "usual_pluck", (0.8, 2.0))
    assert [line for line in told(tmp_path) if "pluck is" in line] == []
    monkeypatch.setattr(Key, "usual_coupled", (1.0, 2.0))
    assert "C4: pluck is above 102 gf to 204 gf (common practice for coupled manuals)" in told(tmp_path)


def test_a_light_coupled_key_is_no_fault(tmp_path, monkeypatch):
    monkeypatch.setattr(Key, "usual_coupled", (5.0, 9.0))
    assert [line for line in told(tmp_path) if "pluck is" in line] == []


@pytest.mark.parametrize(
    ("changes", "held", "lines"),
    [
        (WINDLESS, (), ["ii-pallet: C4: no wind", "ii-up-4-pallet: C4: no wind"]),
        ((), ("II",), []),
        ((), (), []),
    ],
)
def test_faults_of_driven_pallets(tmp_path, changes, held, lines):
    assert [line for line in told(tmp_path, changes, held) if "pallet: " in line] == lines
