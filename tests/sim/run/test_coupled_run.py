"""Notes played with couplers drawn: which are played, what is kept of them, and by what a change is known."""

import numpy as np
import pytest
from runs import assert_same_variables
from small_couplers import SWELL, coupler, write_coupled

from keyaction.cases.action.reader import read_case
from keyaction.cases.instrument.drawn import CouplerProblem
from keyaction.cases.instrument.reader import read_instrument
from keyaction.models.notes import NoteProblem
from keyaction.models.train.train import TrainProblem
from keyaction.sim.files.hdf5 import load
from keyaction.sim.motion.integrate import Tolerances
from keyaction.sim.run.about import fingerprint
from keyaction.sim.run.coupling import coupling_of
from keyaction.sim.run.kept_notes import PartsFolder
from keyaction.sim.run.run import run
from keyaction.sim.run.wanted import wanted
from keyaction.sim.spread.spread import with_spread

PEDAL = coupler("I/pedal", "feet", "great", "pitch = 3")
SIXTH = coupler("II/I 6", "great", "II", "pitch = 4")


@pytest.fixture(scope="module")
def organ(tmp_path_factory):
    return read_instrument(write_coupled(tmp_path_factory.mktemp("organ"), SWELL, PEDAL, SIXTH))


@pytest.fixture(scope="module")
def played(organ):
    """One coupled note in a file, and what is told of it."""
    out, told = organ.path.parent / "coupled.h5", []
    result = run(organ, "C4", out, progress=lambda *one: told.append(one), coupled="ii/i")
    return result, out, told


def test_the_division_of_which_a_coupler_takes_hold_is_played(played):
    result, _, told = played
    assert result.notes == ["great/C4"]
    assert result.value("status", "great/C4") == "ok"
    assert [(division, one.note, kept) for division, one, kept in told] == [("great", 60, False)]


def test_a_coupled_key_plucks_both_pallets(organ, played):
    alone = run(organ, "great/C4,II/C4")
    both, great, second = (
        played[0].value("pluck_force", "great/C4"),
        *(alone.value("pluck_force", f"{name}/C4") for name in ("great", "II")),
    )
    assert great < both < 1.1 * (great + second)
    assert {part for part in played[0]["great"]["part"] if part.startswith("ii-")} >= {"ii-key", "ii-pallet"}


def test_what_was_drawn_travels_with_the_result(played):
    result, out, _ = played
    again = load(out)
    for one in (result, again, result["great"], again["great"]):
        assert one.about["coupled"] == "II/I"
        assert "held" not in one.about
    owners = {one.owner for one in again["great"].assumptions()}
    assert "II/I" in owners
    assert any(owner.startswith("II: ") for owner in owners)


def test_without_couplers_drawn_nothing_has_changed(organ, tmp_path):
    bare = read_instrument(write_coupled(tmp_path))
    assert_same_variables(run(organ, "great/C4")["great"], run(bare, "great/C4")["great"])
    assert "coupled" not in run(organ, "great/C4").about


def test_where_nothing_is_coupled_a_note_is_played_alone_and_told(organ):
    coupled, alone = run(organ, "great/G4", coupled="II/I 6")["great"], run(organ, "great/G4")["great"]
    for name in ("pluck_force", "key_force", "groove_pressure", "repetition_rate"):
        np.testing.assert_array_equal(coupled[name], alone[name])
    assert coupled.value("warning", "G4") == "II/I 6 couples nothing at G4 of great: II has no B4"


def test_a_held_key_costs_nothing_more(organ, played):
    """Its pallet is open already, so the other hand has plucked it."""
    held = run(organ, "C4", coupled="II/I", held="II")
    alone = run(organ, "great/C4").value("pluck_force", "great/C4")
    assert held.about["held"] == "II"
    assert abs(held.value("pluck_force", "great/C4") - alone) < 0.5 * (
        played[0].value("pluck_force", "great/C4") - alone
    )


# -- which divisions -------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("drawn", "notes", "chosen"),
    [
        ("II/I", None, {"great": 8}),
        ("all-on", None, {"great": 8, "pedal": 5}),
        ("I/pedal", "C4:E4", {"pedal": 5}),
        ("II/I", "II/C4,C4", {"great": 1, "II": 1}),
        ("II/I", {"pedal": [60]}, {"pedal": 1}),
        ("II/I", "pedal/C4", {"pedal": 1}),
    ],
)
def test_which_divisions_are_played(organ, drawn, notes, chosen):
    found = wanted(organ, notes, coupling_of(organ, drawn))
    assert {one.division: len(one.notes) for one in found} == chosen


def test_what_is_refused(organ, tmp_path):
    case = read_case(organ.path.parent / "great.toml")
    for wrong, options in (
        (CouplerProblem, {"coupled": "II/J"}),
        (CouplerProblem, {"held": "II"}),
        (CouplerProblem, {"coupled": "I/pedal", "held": "II"}),
        (NoteProblem, {"coupled": "II/I", "notes": "graet/C4"}),
    ):
        with pytest.raises(wrong):
            run(organ, out=tmp_path / "some.h5", **options)
    with pytest.raises(CouplerProblem, match="couplers go with an instrument"):
        run(case, "C4", coupled="II/I")
    assert list(tmp_path.iterdir()) == []


def test_missing_fields_of_a_coupler_are_told_with_their_notes(tmp_path):
    organ = read_instrument(write_coupled(tmp_path, coupler("II/I", "great", "II", kind="lever")))
    with pytest.raises(TrainProblem) as caught:
        run(organ, "C4:D4", coupled="II/I")
    assert "great: coupler-ii-i, field in_arm: missing (every note)" in caught.value.defects


def test_the_spread_is_of_notes_alone(organ, played):
    with pytest.raises(ValueError, match="with couplers drawn"):
        with_spread(played[0]["great"], organ.divisions["great"], draws=2)


# -- fingerprints ----------------------------------------------------------------------------------------
def mark(organ, drawn, held=(), division="great"):
    coupling = coupling_of(organ, drawn, held) if drawn else None
    return fingerprint(organ.divisions[division], Tolerances(), coupling)


def test_the_fingerprint_has_what_is_drawn_and_held(organ):
    marks = {mark(organ, drawn) for drawn in (None, "II/I", "I/pedal", "II/I,II/I 6", "all-on")}
    marks |= {
        mark(organ, "II/I", "II"),
        mark(organ, "II/I", division="pedal"),
        mark(organ, "I/pedal", division="pedal"),
    }
    assert len(marks) == 8
    assert mark(organ, "II/I") == mark(organ, "ii/i")


def test_the_fingerprint_has_all_that_is_moved(tmp_path):
    """The driven division's case, in chain; and the CSV files that couplers take values from."""
    notes = ("C4", "C#4", "D4", "D#4", "E4", "F4", "F#4", "G4")
    (tmp_path / "play.csv").write_text("note,play\n" + "".join(f"{note},0.4\n" for note in notes))
    column = 'play = { csv = "play.csv", column = "play", unit = "mm" }'
    path = write_coupled(tmp_path, coupler("II/I", "great", "II", column), PEDAL)
    before = read_instrument(path)
    file = tmp_path / "swell.toml"
    file.write_text(file.read_text().replace('force = "2 N"', 'force = "2.1 N"'))
    swell = read_instrument(path)
    (tmp_path / "play.csv").write_text("note,play\n" + "".join(f"{note},0.5\n" for note in notes))
    csv = read_instrument(path)
    for division, drawn in (("great", "II/I"), ("pedal", "all-on")):
        assert len({mark(one, drawn, division=division) for one in (before, swell, csv)}) == 3
    assert mark(before, None) == mark(csv, None)


def test_notes_are_kept_for_the_couplers_that_were_drawn(organ, tmp_path):
    out = tmp_path / "some.h5"

    def stop(*_):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run(organ, "C4,D4", out, progress=stop, coupled="II/I")
    for drawn, notes in (("II/I", [60]), ("I/pedal", [])):
        folder = PartsFolder(out, {"great": mark(organ, drawn)})
        assert sorted(folder.done("great")) == notes
        folder.release()
