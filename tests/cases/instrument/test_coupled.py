"""The parts of a coupled note: what one key moves, how it is called, and where couplers reach no key."""

import pytest
from small_couplers import SWELL, coupler, write_coupled, write_demo
from small_instrument import write_instrument

from keyaction.cases.action.trains import train_of
from keyaction.cases.instrument.coupled import HELD, coupled_note, coupled_train
from keyaction.cases.instrument.drawn import CouplerProblem
from keyaction.cases.instrument.reader import read_instrument
from keyaction.models.notes import NoteProblem
from keyaction.models.train.train import TrainProblem


def keys(found):
    """The keys and couplers of a note, with the places that couplers join."""
    return [(part[1], *part[3:]) for part in found.parts if part[0].role in ("key", "coupler")]


def shown(found):
    return [(one.division, one.note, one.prefix, one.by) for one in found.soundings]


@pytest.fixture(scope="module")
def demo():
    return read_instrument("demo-instrument")


# -- trees -----------------------------------------------------------------------------------------------
def test_one_coupler(demo):
    found = coupled_note(demo, "behind", "C4", "II/I")
    assert shown(found) == [("behind", 60, "", ()), ("high", 60, "high", ("II/I",))]
    assert keys(found) == [("key",), ("high-key",), ("coupler-ii-i", ("key", "out"), ("high-key", "out"))]
    own, other = (demo.divisions[name].parts for name in ("behind", "high"))
    names = [*(part.name for part in own), *(f"high-{part.name}" for part in other), "coupler-ii-i"]
    assert [part[1] for part in found.parts] == names
    assert not found.couples_nothing


def test_the_figures_are_those_of_the_notes_alone(demo):
    train = coupled_train(demo, "behind", "C4", "II/I 4")
    alone, above = train_of(demo.divisions["behind"], 60), train_of(demo.divisions["high"], 72)
    assert train.part("pallet").values.derived == alone.part("pallet").values.derived
    assert train.part("high-up-12-pallet").values.derived == above.part("pallet").values.derived
    assert train.key.name == "key"


def test_chains_and_octaves_and_two_ways_to_one_note(demo):
    """Pedal to first, first to second; the second by the pedal's own coupler as well: one train, two couplers."""
    found = coupled_note(demo, "pedal", "C2", "all-on")
    assert shown(found) == [
        ("pedal", 36, "", ()),
        ("behind", 36, "behind", ("I/pedal",)),
        ("high", 36, "high", ("II/pedal", "II/I")),
        ("high", 48, "high-up-12", ("II/I 4",)),
    ]
    assert keys(found)[-4:] == [
        ("coupler-i-pedal", ("pedal-key", "out"), ("behind-key", "out")),
        ("coupler-ii-pedal", ("toe-square", "out"), ("high-key", "out")),
        ("coupler-ii-i", ("behind-key", "out"), ("high-key", "out")),
        ("coupler-ii-i-4", ("behind-key", "out"), ("high-up-12-key", "out")),
    ]
    assert sum(part[0].role == "pallet" for part in found.parts) == 4


def test_the_structure_is_the_same_at_every_note_that_couples_alike(demo):
    notes = [coupled_train(demo, "behind", note, "II/I,II/I 4").structure for note in (36, 60, 79)]
    assert len(set(notes)) == 1
    assert coupled_train(demo, "behind", 80, "II/I,II/I 4").structure != notes[0]


def test_a_coupler_that_stands_twice_has_two_names(tmp_path):
    octave = coupler("I 4", "I", "I", 'pitch = "octave-up"\ntakes = "key"\ngives = "roller"')
    after = coupler("II/I", "I", "II", 'takes = "roller"')
    found = coupled_note(read_instrument(write_demo(tmp_path, octave, after)), "behind", "C4", "all-on")
    assert shown(found)[1:] == [
        ("behind", 72, "behind-up-12", ("I 4",)),
        ("high", 60, "high", ("II/I",)),
        ("high", 72, "high-up-12", ("II/I",)),
    ]
    assert keys(found)[-3:] == [
        ("coupler-i-4", ("key", "out"), ("behind-up-12-roller", "in")),
        ("coupler-ii-i", ("roller", "out"), ("high-key", "out")),
        ("coupler-ii-i-up-12", ("behind-up-12-roller", "out"), ("high-up-12-key", "out")),
    ]


def test_values_of_a_coupler_are_those_of_the_note_at_its_played_end(tmp_path):
    down = coupler("I/II", "II", "I", 'pitch = -4\nplay = { between = "linear", C2 = "0 mm", G6 = "4.4 mm" }')
    first = coupler("II/pedal", "pedal", "II", "pitch = 12")
    found = coupled_note(read_instrument(write_demo(tmp_path, first, down)), "pedal", "C2", "all-on")
    assert [one.note for one in found.soundings] == [36, 48, 44]
    plays = {part[1]: part[2]["play"].value for part in found.parts if part[0].role == "coupler"}
    assert plays["coupler-i-ii"] == pytest.approx(0.0044 * 12 / 55)


# -- ends of the compass ---------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("pitch", "note", "told"),
    [
        ("octave-up", "G6", "x couples nothing at G6 of behind: high has no G7"),
        ("octave-up", "G5", ""),
        ("octave-up", "G#5", "x couples nothing at G#5 of behind: high has no G#6"),
        ("octave-down", "C2", "x couples nothing at C2 of behind: high has no C1"),
        ("octave-down", "C3", ""),
        ("unison", "G6", ""),
    ],
)
def test_lowest_and_highest_notes_of_octave_couplers(tmp_path, pitch, note, told):
    instrument = read_instrument(write_demo(tmp_path, coupler("x", "I", "II", f'pitch = "{pitch}"')))
    found = coupled_note(instrument, "behind", note, "x")
    assert found.couples_nothing == ((told,) if told else ())
    assert len(found.soundings) == (1 if told else 2)


def test_where_nothing_is_coupled_the_train_is_that_of_the_note_alone(demo):
    alone = train_of(demo.divisions["behind"], 91)
    coupled = coupled_train(demo, "behind", 91, "II/I 4")
    assert (coupled.structure, coupled.parameters) == (alone.structure, alone.parameters)


def test_a_chain_that_ends_where_a_division_has_no_such_note(tmp_path):
    """The small pedal ends at E4, the manuals at G4: what lies beyond is left out, and told."""
    instrument = read_instrument(
        write_coupled(tmp_path, coupler("a", "feet", "great", "pitch = 3"), coupler("b", "great", "II", "pitch = 1"))
    )
    found = coupled_note(instrument, "pedal", "E4", "all-on")
    assert [one.note for one in found.soundings] == [64, 67]
    assert found.couples_nothing == ("b couples nothing at G4 of great: II has no G#4",)


# -- names -----------------------------------------------------------------------------------------------
def test_prefixes_of_capitals_and_of_long_names(tmp_path):
    long = "a-division-whose-name-is-rather-long-for-a-name-of-one"
    changes = (('name = "great"', 'name = "GREAT"'), ('name = "pedal"', f'name = "{long}"'))
    instrument = read_instrument(
        write_coupled(
            tmp_path,
            coupler("a", "II", "great"),
            coupler("b", "II", "feet", "pitch = -3"),
            changes=changes,
        )
    )
    found = coupled_note(instrument, "II", "G4", "all-on")
    assert [one.prefix for one in found.soundings] == ["", "great", "d3-down-3"]
    assert all(len(part[1]) <= 60 for part in found.parts)


def test_names_that_are_taken_already(tmp_path):
    path = write_coupled(tmp_path, coupler("II/I", "great", "II"))
    file = tmp_path / "great.toml"
    text = file.read_text().replace('part = "pull-down"', 'part = "pull-down"\nname = "ii-key"')
    file.write_text(text.replace('name = "pallet-spring"', 'name = "coupler-ii-i"'))
    found = coupled_note(read_instrument(path), "great", "C4", "II/I")
    assert [one.prefix for one in found.soundings] == ["", "d2"]
    names = [part[1] for part in found.parts]
    assert len(set(names)) == len(names)
    assert names[-1] == "coupler-ii-i-x"
    found.train()


# -- keys that another hand holds ------------------------------------------------------------------------
def test_a_driven_key_may_be_held(tmp_path):
    instrument = read_instrument(write_coupled(tmp_path, SWELL))
    found = coupled_note(instrument, "great", "C4", "II/I", "ii")
    held = {part[1]: part[2]["held"].value for part in found.parts if "held" in part[2]}
    assert held == {"ii-key": HELD}
    assert found.train().structure == coupled_train(instrument, "great", "C4", "II/I").structure


def test_held_divisions_that_nothing_moves(tmp_path):
    instrument = read_instrument(write_coupled(tmp_path, SWELL))
    with pytest.raises(CouplerProblem) as caught:
        coupled_note(instrument, "great", "C4", "II/I", "graet,pedal")
    assert list(caught.value.defects) == [
        "held: no division 'graet'; did you mean 'great'?",
        "held: no drawn coupler moves 'pedal'; moved: II",
    ]


# -- materials, and what is refused ----------------------------------------------------------------------
def test_parts_have_the_materials_of_their_own_division(tmp_path):
    path = write_coupled(tmp_path, SWELL + 'material = "yew"\nwidth = "15 mm"\nthickness = "8 mm"\n')
    own = '\n[materials.yew]\nkind = "wood"\nsource = "another tree"\ndensity = "650 kg/m^3"\nE = "9 GPa"\n'
    file = tmp_path / "great.toml"
    file.write_text(file.read_text().replace('"sitka-spruce"', '"yew"') + own)
    file = tmp_path / "swell.toml"
    file.write_text(file.read_text().replace('"sitka-spruce"', '"yew"'))
    train = coupled_train(read_instrument(path), "great", "C4", "II/I")
    densities = {name: train.part(name).values.of("material", "density") for name in ("key", "ii-key", "coupler-ii-i")}
    assert densities == {"key": 650.0, "ii-key": 700.0, "coupler-ii-i": 700.0}


def test_division_and_note_that_there_are_not(demo):
    for division, note in (("behynd", "C4"), ("behind", "C9"), ("behind", 12)):
        with pytest.raises(NoteProblem):
            coupled_note(demo, division, note, "II/I")
    with pytest.raises(CouplerProblem):
        coupled_note(demo, "behind", "C4", "II/J")
    assert coupled_note(demo, "BEHIND", "C4", "ii/i").division == "behind"


def test_missing_fields_name_the_part_of_the_tree(tmp_path):
    instrument = read_instrument(write_coupled(tmp_path, coupler("II/I", "great", "II", kind="lever")))
    with pytest.raises(TrainProblem) as caught:
        coupled_train(instrument, "great", "C4", "II/I")
    assert any(text.startswith("coupler-ii-i, field in_arm") for text in caught.value.defects)


def test_without_couplers_nothing_has_changed(tmp_path):
    bare = read_instrument(write_instrument(tmp_path))
    coupled = read_instrument(write_coupled(tmp_path, SWELL))
    for name in bare.divisions:
        assert train_of(bare.divisions[name], 60).parameters == train_of(coupled.divisions[name], 60).parameters
        assert bare.divisions[name].fingerprint != coupled.divisions[name].fingerprint
