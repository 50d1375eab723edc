"""Names of notes in all namings, ranges, and what is said about wrong ones."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keyaction.models.notes import (
    NAMINGS,
    NoteProblem,
    file_name,
    is_sharp,
    note_name,
    parse_note,
    parse_range,
)

COMPASS = range(36, 92)


@pytest.mark.parametrize(
    ("text", "note"),
    [
        ("C2", 36), ("c2", 36), ("C4", 60), ("G6", 91), ("C#2", 37), ("Db2", 37), ("D♭2", 37), ("C♯2", 37),
        ("Cs2", 37), ("cs2", 37), ("B3", 59), ("b3", 59), ("Bb3", 58), ("bb3", 58), ("BB3", 58), ("B#3", 60),
        ("Cb4", 59), ("E#3", 53),
        ("C-1", 0), ("G9", 127), (" a4 ", 69),
    ],
)  # fmt: skip
def test_scientific_names(text, note):
    assert parse_note(text) == note


@pytest.mark.parametrize(
    ("text", "note"),
    [
        ("C", 36), ("C#", 37), ("B", 47), ("c", 48), ("b", 59), ("bb", 58), ("c1", 60), ("c#1", 61),
        ("db1", 61), ("c2", 72), ("c3", 84), ("g3", 91), ("1C", 24), ("1B", 35), ("2C", 12),
        ("cs1", 61), ("Bb", 46),
    ],
)  # fmt: skip
def test_trade_names(text, note):
    assert parse_note(text, "trade") == note


@pytest.mark.parametrize("text", ["", "H2", "C", "C22", "Es2", "Bs3", "C#", "2C", "C##2", "Cb-1", "G#9"])
def test_wrong_scientific_names(text):
    with pytest.raises(NoteProblem, match=f"'{text}' is"):
        parse_note(text)


@pytest.mark.parametrize("text", ["", "C2", "1c", "h1", "c7", "Es", "es1", "3C", "C4"])
def test_wrong_trade_names(text):
    with pytest.raises(NoteProblem, match=f"'{text}' is not a note in trade naming"):
        parse_note(text, "trade")


@pytest.mark.parametrize(
    ("text", "note"),
    [
        # The German names of notes (common practice): H is B natural, B is B flat, -is sharpens, -es flattens.
        ("C", 36), ("Cis", 37), ("Des", 37), ("D", 38), ("Dis", 39), ("Es", 39), ("E", 40), ("F", 41), ("Fis", 42),
        ("Ges", 42), ("G", 43), ("Gis", 44), ("As", 44), ("A", 45), ("Ais", 46), ("B", 46), ("H", 47), ("c", 48),
        ("b", 58), ("h", 59), ("c1", 60), ("cis1", 61), ("c#1", 61), ("es1", 63), ("h1", 71), ("g3", 91), ("1H", 35),
    ],
)  # fmt: skip
def test_german_names(text, note):
    assert parse_note(text, "german") == note


@pytest.mark.parametrize("text", ["", "C2", "1c", "c7", "Hes", "Cs", "h0"])
def test_wrong_german_names(text):
    with pytest.raises(NoteProblem, match=f"'{text}' is not a note in german naming; write e.g. C, fis, b, h or cis1"):
        parse_note(text, "german")


@pytest.mark.parametrize(("text", "naming", "write"), [("H2", "scientific", "B2"), ("h1", "trade", "b1")])
def test_a_german_h_is_explained(text, naming, write):
    with pytest.raises(NoteProblem) as caught:
        parse_note(text, naming)
    assert f'H is B natural: write {write} here, or note_names = "german"' in str(caught.value)
    assert parse_note(write, naming) in (47, 71)


@given(st.integers(12, 119))
def test_german_round_trip(note):
    assert parse_note(note_name(note, "german"), "german") == note


@given(st.integers(0, 127))
def test_scientific_round_trip(note):
    assert parse_note(note_name(note)) == note
    assert parse_note(note_name(note).lower()) == note
    assert parse_note(file_name(note)) == note
    assert is_sharp(note) == ("#" in note_name(note))


@given(st.integers(12, 119))
def test_trade_round_trip(note):
    assert parse_note(note_name(note, "trade"), "trade") == note


@given(st.text(max_size=6), st.sampled_from(NAMINGS))
def test_any_text_is_a_note_or_refused(text, naming):
    try:
        note = parse_note(text, naming)
    except NoteProblem:
        return
    assert 0 <= note <= 127


@given(st.lists(st.sampled_from(COMPASS), min_size=1, max_size=8), st.sampled_from(NAMINGS))
def test_lists_round_trip(notes, naming):
    text = ", ".join(note_name(note, naming) for note in notes)
    assert parse_range(text, COMPASS, naming) == list(dict.fromkeys(notes))


@given(st.integers(36, 91), st.integers(36, 91), st.integers(1, 24))
def test_ranges_count_in_semitones(one, other, step):
    low, high = min(one, other), max(one, other)
    text = f"{note_name(low)}:{note_name(high)}:{step}"
    assert parse_range(text, COMPASS) == list(range(low, high + 1, step))


def test_ranges():
    assert parse_range("C2:G6:12", COMPASS) == [36, 48, 60, 72, 84]
    assert parse_range("C:g3:12", COMPASS, "trade") == [36, 48, 60, 72, 84]
    assert parse_range("C2:D2, C2, G6", COMPASS) == [36, 37, 38, 91]
    assert parse_range("all", COMPASS) == list(COMPASS)


def test_a_short_octave_leaves_gaps():
    short = [36, 38, 40, 41, 43, 45, *range(46, 92)]
    assert parse_range("C2:F2", short) == [36, 38, 40, 41]
    with pytest.raises(NoteProblem, match="this keyboard has no C#2; the compass is C2 to G6"):
        parse_range("C#2", short)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("C7", "'C7': this keyboard has no C7; the compass is C2 to G6"),
        ("C4,H2", "'H2' in 'C4,H2': 'H2' is not a note in scientific naming"),
        ("G6:C2", "'G6:C2' runs downwards"),
        ("C2:G6:0", "the step '0' is not a whole number"),
        ("C2:G6:x", "the step 'x' is not a whole number"),
        ("C2:D2:1:1", "a range is FIRST:LAST or FIRST:LAST:STEP"),
        ("C2:", "'C2:': '' is not a note"),
        (" ", "names no note; the compass is C2 to G6"),
    ],
)
def test_wrong_ranges(text, message):
    with pytest.raises(NoteProblem) as caught:
        parse_range(text, COMPASS)
    assert message in str(caught.value)


@pytest.mark.parametrize(
    ("text", "naming", "nearest"),
    [
        ("H9,C4,X2", "scientific", ["B5", "C2"]),
        ("X2,C1:Y3", "scientific", ["C2", "C2", "C3"]),
        ("c9,2H", "trade", ["c", "B"]),
        ("Fis7,Fis3", "scientific", ["F#6", None]),  # the other is told as F#3 alone
        ("Q", "scientific", [None]),
    ],
)
def test_all_wrong_pieces_are_told_at_once_each_with_the_nearest_note(text, naming, nearest):
    with pytest.raises(NoteProblem) as caught:
        parse_range(text, COMPASS, naming)
    said = str(caught.value)
    told = [re.search(r"the nearest is (\S+)$", line) for line in said.split("\n")]
    assert [found and found[1] for found in told] == nearest
    for name in re.findall(
        r"(?:nearest is|write|did you mean) '?(?!e\.g\.)([A-Ha-h]\S*?)(?:'|\s|$)", str(caught.value)
    ):
        assert parse_note(name, naming) in COMPASS


def test_a_german_h_is_not_rewritten_as_a_note_that_the_keyboard_lacks():
    with pytest.raises(NoteProblem, match="write B4 here"):
        parse_range("H4", COMPASS)
    with pytest.raises(NoteProblem) as caught:
        parse_range("H4", range(60, 68))
    assert "B4" not in str(caught.value)
    assert "H is B natural" in str(caught.value) and "the nearest is G4" in str(caught.value)


def test_unknown_naming_and_nameless_notes_are_refused():
    with pytest.raises(ValueError, match="'scientific', 'trade', 'german'"):
        parse_note("C2", "solfege")
    with pytest.raises(NoteProblem, match="no trade name; 12 to 119"):
        note_name(11, "trade")


@pytest.mark.parametrize(
    ("text", "naming", "meant"),
    [
        ("Ges4", "scientific", "Gb4"),
        ("C sharp 4", "scientific", "C#4"),
        ("cis1", "trade", "c#1"),
        ("ees", "german", "es"),
        ("Bb", "german", "Bes"),
        ("Eis", "german", "Eis"),
    ],
)
def test_a_sharp_or_flat_of_another_naming_is_understood(text, naming, meant):
    with pytest.raises(NoteProblem) as told:
        parse_note(text, naming)
    assert (f"did you mean '{meant}'?" in str(told.value)) == (meant not in ("Bes", "Eis"))
