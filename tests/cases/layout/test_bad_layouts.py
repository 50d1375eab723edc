"""Layouts that cannot be: every defect at once, with table, field, value and notes."""

import pytest
from laid_case import CHEST, LAYOUT, RUN, laid
from short_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.text.defects import CaseProblem
from keyaction.models.notes import note_name


def problems(folder, layout=LAYOUT, changes=None, **options):
    with pytest.raises(CaseProblem) as caught:
        laid(folder, layout, changes, **options)
    return [str(defect) for defect in caught.value.defects]


def listed(names):
    return LAYOUT.replace('"chromatic"', "[" + ", ".join(f'"{name}"' for name in names) + "]")


NOTES = [note_name(note) for note in range(48, 73)]
KEYBOARD = LAYOUT + "[layout.keyboard]\n"

LAYOUTS = {
    "an order that omits and repeats": (
        listed(["D3", *NOTES[:1], *NOTES[2:-1], "C6"]),
        [
            "[layout.chest], field 'order' = [25 values]: the order leaves out C#3, C5",
            "[layout.chest], field 'order' = [25 values]: the order repeats D3",
            "[layout.chest], field 'order' = [25 values]: the order has notes that are not there: C6",
        ],
    ),
    "an order of things that are no notes": (
        listed(["C3", "H9"]),
        ["[layout.chest], field 'order.1' = \"H9\": 'H9' is not a note in scientific naming"],
    ),
    "an order that there is not": (
        LAYOUT.replace('"chromatic"', '"two-side"'),
        ["field 'order' = \"two-side\": unknown order; did you mean 'two-sides'?"],
    ),
    "no order": (LAYOUT.replace('order = "chromatic"\n', ""), ["field 'order': missing; one of chromatic, two-sides"]),
    "a compass larger than the keyboard": (
        KEYBOARD + 'high = "A4"\n',
        ["[compass]: larger than the keyboard, C3 to A4: it has no A#4 to C5"],
    ),
    "a gap after a note that is not there": (
        LAYOUT.replace('bar = "12 mm"', 'gaps = [{ after = "C2", width = "9 mm" }, { width = "1 mm" }]'),
        [
            "field 'gaps.0.after' = \"C2\": this note has no groove here",
            "field 'gaps.1.after': missing; a gap is { after = NOTE, width = ... }",
        ],
    ),
    "places of parts that there are not": (
        LAYOUT + 'uper-square = { back = "1 m", up = "1 m" }\nriser = { back = "1 m", up = "1 m" }\n',
        [
            "[layout.run], field 'uper-square': the train has no key or lever 'uper-square'; did you mean 'upper-",
            "[layout.run], field 'riser': a rod goes from axis to axis and has no place of its own",
        ],
    ),
    "half a place": (
        LAYOUT.replace(', up = "-30 mm"', "").replace('up = "900 mm"\n', ""),
        [
            "field 'key.up': missing; an axis stands at",
            "[layout.chest], field 'up': missing; the pallets' eyes stand at",
        ],
    ),
    "the place of a pallet": (
        LAYOUT + 'pallet = { back = "1 m", up = "1 m" }\n',
        ["field 'pallet' = { back, up }: its eye stands at `back` and `up` of [layout.chest]"],
    ),
    "tables and words that there are not": (
        LAYOUT + '[layout.bord]\nrow = "25 mm"\n[layout.board]\nrows = "25 mm"\nkeys = "under"\n',
        [
            "[layout], field 'bord': unknown table; did you mean 'board'?",
            "[layout.board], field 'rows' = \"25 mm\": unknown field; did you mean 'row'?",
            "[layout.board], field 'keys' = \"under\": unknown choice",
        ],
    ),
    "sizes out of range": (
        LAYOUT.replace('"12 mm"', '"-1 mm"') + '[layout.board]\nrow = "1 m"\n',
        [
            "[layout.chest], field 'bar' = \"-1 mm\": out of range; allowed: 1 mm",
            "[layout.board], field 'row' = \"1 m\"",
        ],
    ),
    "a short octave that does not begin so": (
        KEYBOARD + 'bass = "short G/B"\n',
        ["[layout.keyboard], field 'bass' = \"short G/B\": such a keyboard begins with G"],
    ),
    "notes left out that are not there": (
        KEYBOARD + 'without = ["C7"]\n',
        ["[layout.keyboard], field 'without': the keyboard would not have C7 anyhow"],
    ),
    "a table of a note that the keyboard has not": (
        KEYBOARD + 'without = ["C#3"]\n[notes.Cs3.roller]\nlength = "30 mm"\n',
        ["[notes.Cs3]: the keyboard has no such note"],
    ),
    "a fan beside a roller": (
        LAYOUT + '[layout.fan]\npart = "drop"\n',
        ["[layout.fan]: the train has roller, which carries sideways; take out one"],
    ),
    "a fan of a part that there is not": (
        LAYOUT + '[layout.fan]\npart = "dropp"\n',
        ["[layout.fan], field 'part' = \"dropp\": the train has no rod or lever 'dropp'; did you mean 'drop'?"],
    ),
    "a board that is too low": (
        LAYOUT + '[layout.board]\nheight = "80 mm"\n',
        ["[layout]: the board is too low: 8 rows of 25 mm need 200 mm, and there is 80 mm, room for 3 (beyond it: "],
    ),
    "axes nearer than their arms": (
        LAYOUT.replace('back = "1500 mm"\nup = "900 mm"', 'back = "1440 mm"\nup = "300 mm"'),
        ["[layout]: pull-down: roller and pallet stand 12.5 mm apart; with an arm of 60 mm it needs more than 60 mm"],
    ),
    "divisions without this one": (
        LAYOUT.replace('bar = "12 mm"', 'divisions = ["great"]'),
        ["[layout.chest], field 'divisions' = [1 values]: does not name '', whose action this is"],
    ),
}


@pytest.mark.parametrize(("layout", "expected"), LAYOUTS.values(), ids=LAYOUTS)
def test_a_layout_that_cannot_be_is_told(tmp_path, layout, expected):
    found = problems(tmp_path, layout)
    for text in expected:
        assert any(text in line for line in found), f"{text}\nnot in\n" + "\n".join(found)
    assert all(line.startswith("laid.toml: ") for line in found)


FIELDS = {
    "a figure that there is not": (
        'length = { layout = "level-tracker.length" }',
        'length = { layout = "level-tracker.lenght" }',
        "[[train]] level-tracker, field 'length': the layout tells no 'level-tracker.lenght'; did you mean "
        "'level-tracker.length'?",
    ),
    "an angle for a length": (
        'length = { layout = "level-tracker.length" }',
        'length = { layout = "drop.splay" }',
        "[[train]] level-tracker, field 'length': drop.splay is an angle, which this field does not take",
    ),
    "a figure of no name": (
        'length = { layout = "level-tracker.length" }',
        "length = { layout = false }",
        "field 'length' = { layout }: write layout = true, or a figure by its name",
    ),
    "more beside it": (
        'length = { layout = "level-tracker.length" }',
        'length = { layout = true, unit = "mm" }',
        "field 'length.unit' = \"mm\": unknown field; known: layout",
    ),
    "an arm": (
        'arm = "150 mm"',
        'arm = { layout = "riser.length" }',
        "[[train]] key, field 'arm': the layout is made from this size, so it cannot come of the layout",
    ),
    "the width of a groove": (
        'length = "900 mm"\nwidth = "14 mm"',
        'length = "900 mm"\nwidth = { layout = "riser.length" }',
        "[[train]] groove, field 'width': the layout is made from this size",
    ),
    "a word": (
        'opens = "down"',
        "opens = { layout = true }",
        "field 'opens' = { layout }: no figure of the layout goes here",
    ),
    "out of the field's range": (
        'dip = "9.5 mm"',
        'dip = { layout = "riser.length" }',
        "[[train]] key, field 'dip': riser.length of the layout is 610 mm at C3 to C5: out of range; allowed: ",
    ),
    "a groove without width": (
        'length = "900 mm"\nwidth = "14 mm"\ndepth = "80 mm"',
        'volume = "1 L"',
        "[[train]] groove, field 'width': missing; [layout.chest] lays grooves side by side",
    ),
}


@pytest.mark.parametrize(("old", "new", "expected"), FIELDS.values(), ids=FIELDS)
def test_a_field_that_cannot_take_its_figure_is_told(tmp_path, old, new, expected):
    found = problems(tmp_path, changes={old: new})
    assert any(expected in line for line in found), "\n".join(found)


def test_everything_is_told_at_once(tmp_path):
    layout = LAYOUT.replace('"chromatic"', '"chromatik"').replace("lower-square =", "lower-squire =")
    changes = {'dip = "9.5 mm"': 'dip = "9.5 kg"', 'length = { layout = "level-': 'length = { layout = "leve-'}
    found = problems(tmp_path, layout, changes)
    assert len(found) == 4, found


def test_figures_without_a_layout_are_told(tmp_path):
    found = problems(tmp_path, "")
    assert (
        "laid.toml: [[train]] roller, field 'length': takes roller.length of a layout, and there is none; write a "
        in ("\n".join(found))
    )
    assert len(found) == 8


def test_figures_of_paths_need_places(tmp_path):
    found = "\n".join(problems(tmp_path, CHEST))
    assert "riser, field 'length': the layout tells riser.length only of drawn paths; say where all axes" in found
    assert "roller" not in found


def test_only_a_train_takes_figures(tmp_path):
    more = "[strokes]\ndown = { layout = true }\n"
    assert "only fields of the train take figures" in "\n".join(problems(tmp_path, LAYOUT + more))
    nested = RUN.replace('"300 mm"', '{ layout = "riser.length" }', 1)
    assert "only fields of the train take figures" in "\n".join(problems(tmp_path, CHEST + nested))


def test_a_layout_that_is_no_table(tmp_path):
    path = write_case(tmp_path, ("format = 1", "format = 1\nlayout = 3"))
    with pytest.raises(CaseProblem, match=r"\[layout\] = 3: a table is needed"):
        read_case(path)
