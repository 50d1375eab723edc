"""The [[coupler]] tables of an instrument: what is read, and every defect with its place."""

import pytest
from small_couplers import SWELL, coupler, write_coupled, write_demo
from small_instrument import write_instrument

from keyaction.cases.instrument.coupler_reader import way_given
from keyaction.cases.instrument.reader import read_instrument
from keyaction.cases.text.defects import CaseProblem


def told(path):
    with pytest.raises(CaseProblem) as caught:
        read_instrument(path)
    return str(caught.value).split("\n")


# -- what is read ----------------------------------------------------------------------------------------
def test_a_coupler_with_its_fields(tmp_path):
    found = read_instrument(write_coupled(tmp_path, SWELL))
    one = found.couplers["II/I"]
    assert (one.kind, one.part.kind, one.played, one.driven, one.shift) == ("lever", "coupler-lever", "great", "II", 0)
    assert (one.takes, one.gives) == (("key", "out"), ("key", "out"))
    assert one.values(60)["play"].value == pytest.approx(0.0004)
    assert set(one.fields["play"]) == set(found.divisions["great"].compass)
    assert "couplers II/I" in repr(found)


def test_an_instrument_without_couplers_has_none(tmp_path):
    found = read_instrument(write_instrument(tmp_path))
    assert not found.couplers
    assert "couplers" not in repr(found)


def test_play_by_control_points_and_from_a_csv_file(tmp_path):
    points = 'play = { between = "linear", C4 = "0.3 mm", G4 = "1 mm" }'
    found = read_instrument(write_coupled(tmp_path, coupler("II/I", "great", "II", points)))
    assert found.couplers["II/I"].values(67)["play"].value == pytest.approx(0.001)
    rows = "".join(
        f"{note},{0.1 * i}\n" for i, note in enumerate(("C4", "C#4", "D4", "D#4", "E4", "F4", "F#4", "G4"), 1)
    )
    (tmp_path / "play.csv").write_text("note,play\n" + rows)
    column = 'play = { csv = "play.csv", column = "play", unit = "mm" }'
    found = read_instrument(write_coupled(tmp_path, coupler("II/I", "great", "II", column)))
    assert found.couplers["II/I"].values(64)["play"].value == pytest.approx(0.0005)
    assert list(found.files) == ["play.csv"]


def test_the_compass_of_a_coupler_is_that_of_the_played_division(tmp_path):
    points = 'play = { between = "linear", C4 = "0.3 mm", G4 = "1 mm" }'
    (line,) = told(write_coupled(tmp_path, coupler("I/pedal", "feet", "great", points)))
    assert "field 'play.G4' = \"1 mm\": note 'G4' is outside the compass; allowed: C4 to E4" in line


@pytest.mark.parametrize(
    ("written", "shift", "words"),
    [
        ('"unison"', 0, "unison"),
        ('"octave-up"', 12, "octave up"),
        ('"octave-down"', -12, "octave down"),
        ("7", 7, "+7 semitones"),
        ("-12", -12, "octave down"),
        ("0", 0, "unison"),
    ],
)
def test_pitches(tmp_path, written, shift, words):
    path = write_coupled(tmp_path, coupler("II/I", "great", "II", f"pitch = {written}"))
    one = read_instrument(path).couplers["II/I"]
    assert (one.shift, one.pitch) == (shift, words)


def test_a_keyboard_with_one_division_means_it(tmp_path):
    one = read_instrument(write_coupled(tmp_path, coupler("I/pedal", "feet", "Great"))).couplers["I/pedal"]
    assert (one.played, one.driven) == ("pedal", "great")


def test_where_a_coupler_holds(tmp_path):
    more = 'takes = "toe-square"\ngives = {{ part = "roller"{} }}'
    path = write_demo(
        tmp_path,
        coupler("a", "pedal", "II", more.format("")),
        coupler("b", "pedal", "II", more.format(', end = "out"')),
        coupler("c", "I", "II", 'takes = "roller"\ngives = "roller"'),
        coupler("d", "pedal", "I", 'takes = "pedal-key"'),
    )
    found = read_instrument(path).couplers
    assert [(one.takes, one.gives) for one in found.values()] == [
        (("toe-square", "out"), ("roller", "in")),
        (("toe-square", "out"), ("roller", "out")),
        (("roller", "out"), ("roller", "in")),
        (("pedal-key", "out"), ("key", "out")),
    ]


def test_an_octave_coupler_onto_its_own_division_gives_behind_where_it_takes(tmp_path):
    more = 'pitch = "octave-up"\ntakes = "{}"\ngives = "{}"'
    path = write_demo(tmp_path, coupler("I 4", "I", "I", more.format("floor-square", "roller")))
    assert read_instrument(path).couplers["I 4"].gives == ("roller", "in")
    for takes, gives in (("key", "key"), ("roller", "roller"), ("roller", "back-square")):
        (line,) = told(write_demo(tmp_path, coupler("I 4", "I", "I", more.format(takes, gives))))
        assert f"[[coupler]] I 4, field 'gives' = \"{gives}\": a coupler of a division onto itself must give" in line


def test_materials_of_the_instrument_are_known_to_its_couplers(tmp_path):
    path = write_coupled(tmp_path, SWELL + 'material = "yew"\n')
    found = read_instrument(path)
    assert found.couplers["II/I"].values(60)["material"].value == "yew"
    assert found.library.get("yew")["density"].value == 700.0


def test_what_is_outside_the_usual_is_a_warning(tmp_path):
    path = write_coupled(tmp_path, coupler("II/I", "great", "II", 'play = "3 mm"'))
    (line,) = read_instrument(path).warnings
    assert line.startswith("organ.toml: [[coupler]] II/I, field 'play' = 3 mm at C4 to G4: outside the usual")


@pytest.mark.parametrize(("naming", "low", "high"), [("trade", "c1", "g1"), ("german", "c1", "g1")])
def test_notes_in_another_naming(tmp_path, naming, low, high):
    points = f'play = {{ between = "linear", {low} = "0.3 mm", {high} = "1 mm" }}'
    path = write_coupled(tmp_path, coupler("II/I", "great", "II", points))
    names = {"C4": "c1", "G4": "g1", "E4": "e1", "D4": "d1", "F4": "f1"}
    sharp = "is1" if naming == "german" else "#1"
    names |= {f"{letter}#4": f"{letter.lower()}{sharp}" for letter in "CDFG"}
    for file in tmp_path.glob("*.*"):
        text = file.read_text()
        for old in sorted(names, key=len, reverse=True):
            text = text.replace(old, names[old])
        head = "[instrument]" if "[instrument]" in text else "[case]"
        file.write_text(text.replace(head, f'{head}\nnote_names = "{naming}"'))
    assert read_instrument(path).couplers["II/I"].values(67)["play"].value == pytest.approx(0.001)


# -- what is refused -------------------------------------------------------------------------------------
def test_all_defects_at_once(tmp_path):
    lines = told(
        write_coupled(
            tmp_path,
            coupler("II/I", "graet", "II"),
            coupler("ii-i", "great", "II"),
            coupler("I/pedal", "feets", "great", 'pitch = "octave-upp"', kind="levr"),
            coupler("x", "I", "pedal", 'takes = "kay"'),
            coupler("y", "feet", "great", 'takes = "pallet"\nplai = "1 mm"\nplay = "1 N"'),
            coupler("all on", "feet", "great"),
            coupler("z", "great", "great"),
            "\n[[coupler]]\nplay = 3\n",
        )
    )
    for begins in (
        "[[coupler]] II/I, field 'from' = \"graet\": there is no such keyboard or division; did you mean 'great'?",
        "[[coupler]] ii-i, field 'name' = \"ii-i\": named twice: 'II/I' is there",
        "[[coupler]] I/pedal, field 'from' = \"feets\": there is no such keyboard or division; did you mean 'feet'?",
        "[[coupler]] I/pedal, field 'kind' = \"levr\": there is no such kind of coupler; did you mean 'lever'?",
        "[[coupler]] I/pedal, field 'pitch' = \"octave-upp\": allowed: unison, octave-up, octave-down, or semitones",
        "[[coupler]] x, field 'from' = \"I\": has 2 divisions; name the one that is meant: great, II",
        "[[coupler]] y, field 'takes' = \"pallet\": a coupler holds on at the key or at a lever; known: key",
        "[[coupler]] y, field 'plai' = \"1 mm\": unknown field; did you mean 'play'?",
        "[[coupler]] y, field 'play' = \"1 N\": ",
        "[[coupler]] all on, field 'name' = \"all on\": this name stands for all couplers",
        "[[coupler]] z, field 'to' = \"great\": couples the keyboard onto itself at unison",
        "[[coupler]] 8, field 'name': missing; each coupler has a name",
    ):
        assert sum(line.startswith(f"organ.toml: {begins}") for line in lines) == 1, (begins, lines)
    assert len(lines) == 12, lines


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ('takes = "kay"', "short.toml has no such key or lever; did you mean 'key'?"),
        ("takes = 3", "the key or a lever by its name"),
        ('takes = { part = "key", end = "in" }', "the key key has no end before it"),
        ('gives = { part = "key", and = "in" }', "unknown field 'and'; did you mean 'end'?"),
        ('gives = { part = "key", end = "below" }', 'end: "in" (nearer the key) or "out"'),
        ("pitch = true", "allowed: unison, octave-up"),
        ("pitch = 60", "allowed: unison, octave-up"),
        ("pitch = 1.5", "allowed: unison, octave-up"),
        ('play = "10 mm"', "10 mm at C4 is more than the whole dip of the played key gives there; allowed: up to 5.94"),
        ("play = { layout = true }", "only fields of the train take figures of the layout"),
        ('play = { csv = "none.csv", column = "play", unit = "mm" }', "no such file"),
        ('felt = "thick"', "a table is needed"),
    ],
)
def test_one_defect(tmp_path, more, message):
    lines = told(write_coupled(tmp_path, coupler("II/I", "great", "II", more)))
    assert len(lines) == 1, lines
    assert message.replace("short.toml", "great.toml") in lines[0]
    assert lines[0].startswith("organ.toml: [[coupler]] II/I, field '")


@pytest.mark.parametrize(
    "name",
    ["", " II", "II/I  4", "II+I", "/I", "I" * 41, "Ü", 7],
)
def test_names_that_cannot_be(tmp_path, name):
    written = f'"{name}"' if isinstance(name, str) else name
    path = write_coupled(tmp_path, coupler("II/I", "great", "II").replace('"II/I"', str(written)))
    (line,) = told(path)
    assert "a name is of letters, digits" in line


@pytest.mark.parametrize("name", ["II/I 4'", "I/pedal", "sub II", "great-to-pedal", "I" * 40])
def test_names_that_can_be(tmp_path, name):
    assert name in read_instrument(write_coupled(tmp_path, coupler(name, "great", "II"))).couplers


def test_no_list_of_tables(tmp_path):
    (line,) = told(write_coupled(tmp_path, '\n[coupler]\nname = "II/I"\n'))
    assert "[[coupler]]: each coupler needs a table of its own, headed [[coupler]]" in line


def test_a_name_of_a_keyboard_and_of_another_ones_division(tmp_path):
    """In the small instrument the division II is on keyboard I: on a second keyboard of that name it is in doubt."""
    change = ('keyboard = "feet"', 'keyboard = "II"')
    keyboard = ('name = "feet"', 'name = "II"')
    (line,) = told(write_coupled(tmp_path, coupler("x", "great", "II"), changes=(change, keyboard)))
    assert (
        "is two things: a division that stands on another keyboard, and a keyboard with the divisions 'pedal'" in line
    )
    path = write_coupled(tmp_path, coupler("x", "great", "pedal"), changes=(change, keyboard))
    assert read_instrument(path).couplers["x"].driven == "pedal"


def test_a_coupler_of_an_unsound_division_is_read_as_far_as_it_goes(tmp_path):
    path = write_coupled(tmp_path, coupler("I/pedal", "feet", "great", 'play = "1 N"'))
    (tmp_path / "pedal.toml").write_text("format = 1\n")
    lines = told(path)
    assert any(line.startswith("organ.toml: [[coupler]] I/pedal, field 'play'") for line in lines)
    assert any(line.startswith("pedal.toml") for line in lines)


# -- the way that arrives --------------------------------------------------------------------------------
def test_the_way_that_arrives_by_hand(tmp_path):
    """Dip x arm / front, then out / in of every lever up to the place, then of the coupler's own lever."""
    found = read_instrument(
        write_demo(
            tmp_path,
            coupler("a", "I", "II", 'take_arm = "100 mm"'),
            coupler("b", "I", "II"),
            coupler("c", "pedal", "II", 'takes = "toe-square"'),
            coupler("d", "pedal", "II", 'takes = { part = "toe-square", end = "in" }'),
            coupler("e", "pedal", "II", 'takes = "toe-square"\ntake_arm = "100 mm"'),
            coupler(
                "f", "I", "II", 'in_arm = "50 mm"\nout_arm = "60 mm"\ninertia = "20 kg*mm^2"\nmass = "9 g"', "lever"
            ),
        )
    )
    ways = [way_given(found.divisions[one.played], 48, one) for one in found.couplers.values()]
    toe = 16 / 480 * 550
    by_hand = [9.5 / 230 * 100, 9.5 / 230 * 150, toe / 120 * 54, toe, toe / 120 * 100, 9.5 / 230 * 150 * 60 / 50]
    assert ways == pytest.approx([1e-3 * way for way in by_hand])


def test_play_as_large_as_the_dip_is_allowed(tmp_path):
    """Dip 9.5 mm, 400 mm from the pivot; at 200 mm half of it arrives."""
    more = 'take_arm = "200 mm"\nplay = "{}"'
    assert read_instrument(write_coupled(tmp_path, coupler("a", "great", "II", more.format("4.75 mm")))).couplers
    (line,) = told(write_coupled(tmp_path, coupler("a", "great", "II", more.format("4.76 mm"))))
    assert "allowed: up to 4.75 mm" in line
