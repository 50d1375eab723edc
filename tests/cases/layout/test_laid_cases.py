"""A case that lays its action out: what its fields take, and what goes before."""

import math
import pickle

import pytest
from laid_case import CHEST, LAYOUT, RUN, laid, laid_text
from short_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import check_trains
from keyaction.models.instrument.keyboard import tails
from keyaction.models.notes import note_name, parse_note

C3, C4, C5 = 48, 60, 72


def lengths(case, part, field="length"):
    return {note: one.value for note, one in case.part(part).fields[field].items()}


def test_rods_and_rollers_are_as_long_as_drawn_by_hand(tmp_path):
    """Eye of the key at 450, -30; riser down to the square's arm at 450, -640; level along the arms at -690 from 500 to
    1450; drop up at 1500 to the roller's arm at 300 and its row; pull-down from there to the eye at 900 mm.
    """
    case = laid(tmp_path)
    board = case.layout.board
    assert board.rows > 1
    for note in case.compass:
        off = board.offset(note)
        assert lengths(case, "riser")[note] == pytest.approx(0.610)
        assert lengths(case, "level-tracker")[note] == pytest.approx(0.950)
        within = (0.940 + off, 0.600 - off)
        aside = [
            abs(board.rollers[note].key - case.layout.places[note].key),
            abs(board.rollers[note].pallet - case.layout.places[note].pallet),
        ]
        for part, length, beside in zip(("drop", "pull-down"), within, aside, strict=True):
            assert lengths(case, part)[note] == pytest.approx((length**2 + beside**2) ** 0.5)
    assert lengths(case, "upper-square", "turn")[C4] == pytest.approx(1.5707963)


def test_rollers_reach_from_key_to_pallet(tmp_path):
    """Even tails of 13.75 mm about the middle of 15 naturals, grooves of 14 with bars of 12 mm about 0."""
    found = lengths(laid(tmp_path), "roller")
    for i, note in enumerate(range(C3, C5 + 1)):
        key, pallet = (i + 0.5) * 13.75 - 15 / 2 * 165 / 7, (i - 12) * 26
        expected = max(abs(pallet - key), 10)
        assert found[note] * 1e3 == pytest.approx(expected, abs=1e-6), note_name(note)


def test_figures_have_their_origin_and_make_sound_trains(tmp_path):
    case = laid(tmp_path)
    assert {one.origin for one in case.part("roller").fields["length"].values()} == {"layout"}
    assert len(check_trains(case, case.compass)) == 25
    assert case.division == "" and case.layout.division == ""
    assert pickle.loads(pickle.dumps(case)).layout == case.layout


def test_a_case_without_layout_has_none():
    case = read_case("demo-wood")
    assert case.layout is None and case.drawn is None and case.within is None


def test_a_field_may_take_a_figure_of_another_part(tmp_path):
    case = laid(
        tmp_path, changes={'length = { layout = "level-tracker.length" }': 'length = { layout = "riser.length" }'}
    )
    assert lengths(case, "level-tracker") == lengths(case, "riser")


def test_values_of_one_note_and_from_outside_go_before(tmp_path):
    more = '[notes.D3.roller]\nlength = "321 mm"\n'
    found = lengths(laid(tmp_path, LAYOUT + more), "roller")
    plain = lengths(laid(tmp_path), "roller")
    assert found[50] == 0.321 and {n: x for n, x in found.items() if n != 50} == {
        n: x for n, x in plain.items() if n != 50
    }
    case = laid(tmp_path, LAYOUT + more, set_={"roller.length": "200 mm"})
    assert set(lengths(case, "roller").values()) == {0.2}


def test_one_note_may_take_what_the_others_do_not(tmp_path):
    changes = {'part = "roller"\nlength = { layout = true }': 'part = "roller"\nlength = "300 mm"'}
    more = "[notes.D3.roller]\nlength = { layout = true }\n"
    found = lengths(laid(tmp_path, LAYOUT + more, changes), "roller")
    assert found[50] == pytest.approx(lengths(laid(tmp_path), "roller")[50]) and found[51] == 0.3


def test_arms_are_those_after_settings(tmp_path):
    wider = laid(tmp_path, set_={"key.arm": "160 mm", "lower-square.in_arm": "40 mm"})
    assert lengths(wider, "riser")[C4] == pytest.approx(0.610)
    moved = laid(tmp_path, set_={"key.arm": "170 mm"})
    assert lengths(moved, "riser")[C4] == pytest.approx((0.610**2 + 0.030**2 - 0.050**2) ** 0.5)


def test_typed_lengths_that_contradict_are_told_with_their_notes(tmp_path):
    changes = {'name = "riser"\nlength = { layout = true }': 'name = "riser"\nlength = "600 mm"'}
    (line,) = [line for line in laid(tmp_path, changes=changes).warnings if "contradicts" in line]
    assert "[[train]] riser, field 'length' = 600 mm: contradicts the layout, where it is 610 mm at C3 to C5" in line
    near = {'name = "riser"\nlength = { layout = true }': 'name = "riser"\nlength = "611 mm"'}
    assert not any("contradicts" in line for line in laid(tmp_path, changes=near).warnings)


def test_angles_that_contradict_are_told_even_where_not_given(tmp_path):
    slant = LAYOUT.replace('upper-square = { back = "1450 mm"', 'upper-square = { back = "1350 mm"')
    changes = {"turn = { layout = true }\n": ""}
    told = [line for line in laid(tmp_path, slant, changes).warnings if "contradicts" in line]
    assert len(told) == 1 and "upper-square, field 'turn' = 90 deg (not given)" in told[0]


def test_short_keys_under_their_pallets_are_remarked_on(tmp_path):
    told = "\n".join(laid(tmp_path).warnings)
    assert "less than 10 mm beside their pallets" in told


def test_a_key_straight_under_its_pallet_has_the_shortest_roller(tmp_path):
    """The tail of C4 stands 4.910714 mm left of the middle of C3 to C5: 12.5 x 13.75 mm against 7.5 x 165/7."""
    case = laid(tmp_path, LAYOUT + '[layout.keyboard]\nmiddle = "4.910714286 mm"\n')
    assert case.layout.places[C4].side == "straight" and lengths(case, "roller")[C4] == pytest.approx(0.010)
    told = "\n".join(case.warnings)
    assert "keys straight under their pallets at C4: their rollers are as short as may be, 10 mm" in told


def test_a_keyboard_and_a_chest_alone_give_places_and_rollers(tmp_path):
    text = laid_text(CHEST)
    for part in ("riser", "drop", "pull-down"):
        text = text.replace(f'name = "{part}"\nlength = {{ layout = true }}', f'name = "{part}"\nlength = "600 mm"')
    text = text.replace('length = { layout = "level-tracker.length" }', 'length = "900 mm"')
    text = text.replace('"phosphor-bronze"', '"phosphor-bronze"').replace("turn = { layout = true }\n", "")
    text = text.replace("splay = { layout = true }\n", "")
    text = text.replace('part = "pull-down"\nlength = { layout = true }', 'part = "pull-down"\nlength = "600 mm"')
    (tmp_path / "places.toml").write_text(text, encoding="utf-8")
    case = read_case(tmp_path / "places.toml")
    assert case.layout.paths == {} and set(case.layout.figures) == {"roller.length"}
    assert len(case.layout.places) == 25 and case.layout.board.rollers.keys() == case.layout.places.keys()
    assert "no paths are drawn: no place is given of key, lower-square, upper-square, roller" in "\n".join(
        case.warnings
    )


def test_a_short_octave_lacks_notes_and_moves_keys(tmp_path):
    keyboard = '[layout.keyboard]\nbass = "short C/E"\n'
    case = laid(tmp_path, LAYOUT + keyboard)
    assert [note_name(note) for note in case.compass[:6]] == ["C3", "D3", "E3", "F3", "G3", "A3"]
    assert len(case.compass) == 21 and set(case.layout.places) == set(case.compass)
    at = {note: place.key for note, place in case.layout.places.items()}
    assert at[C3] < at[parse_note("F3")] < at[parse_note("D3")] < at[parse_note("G3")]
    assert set(case.part("roller").fields["width"]) == set(case.compass)
    assert len(check_trains(case, case.compass)) == 21


def test_a_compass_with_notes_left_out(tmp_path):
    case = laid(tmp_path, LAYOUT + '[layout.keyboard]\nwithout = ["C#3", "D#3"]\n')
    assert [note_name(note) for note in case.compass[:4]] == ["C3", "D3", "E3", "F3"]
    assert case.compass == tuple(case.layout.places)


def test_a_keyboard_larger_than_the_compass_has_its_own_middle(tmp_path):
    case = laid(tmp_path, LAYOUT + '[layout.keyboard]\nlow = "C2"\nhigh = "G6"\n')
    assert case.layout.keyboard.notes == tuple(range(36, 92)) and set(case.layout.places) == set(case.compass)
    assert case.layout.places[C4].key == pytest.approx(tails(case.layout.keyboard)[C4])


def test_one_note_alone(tmp_path):
    case = laid(tmp_path, changes={'low = "C3"': 'low = "C4"', 'high = "C5"': 'high = "C4"'})
    assert case.layout.places[C4].pallet == 0.0 and case.layout.board.rows == 1


def test_orders_and_lists_and_gaps(tmp_path):
    names = [note_name(note) for note in range(C5, C3 - 1, -1)]
    listed = LAYOUT.replace('"chromatic"', f"{names}".replace("'", '"')).replace(
        'bar = "12 mm"', 'bar = "12 mm"\ngaps = [{ after = "C4", width = "60 mm" }]'
    )
    case = laid(tmp_path, CHEST.replace('order = "chromatic"', 'order = "chromatic"\nfirst = "right"') + RUN)
    other = laid(tmp_path, listed)
    assert other.layout.order == "list" and case.layout.order == "chromatic"
    at, there = ({note: p.pallet for note, p in one.layout.places.items()} for one in (case, other))
    assert {note: there[note] - at[note] for note in (C5, C4, 59, C3)} == pytest.approx(
        {C5: -0.03, C4: -0.03, 59: 0.03, C3: 0.03}
    )


def test_two_grooves_a_note(tmp_path):
    case = laid(tmp_path, LAYOUT.replace('bar = "12 mm"', 'bar = "3 mm"\ngrooves = 2'))
    at = {note: place.pallet for note, place in case.layout.places.items()}
    assert at[C4 + 1] - at[C4] == pytest.approx(2 * 0.017)


def test_places_may_vary_over_the_compass(tmp_path):
    varied = LAYOUT.replace('{ back = "300 mm"', '{ back = { between = "linear", C3 = "300 mm", C5 = "310 mm" }')
    riser = lengths(laid(tmp_path, varied), "riser")
    for note, beside in ((C3, 0.050), (C4, 0.045), (C5, 0.040)):
        assert riser[note] == pytest.approx((0.610**2 + beside**2 - 0.050**2) ** 0.5)


def test_defaults_of_the_layout_are_told(tmp_path):
    told = {(one.table, one.field): one.value for one in laid(tmp_path).assumptions}
    assert told["[layout.keyboard]", "octave"] == "165 mm" and told["[layout.board]", "row"] == "25 mm"
    assert ("[layout.chest]", "bar") not in told


def test_sizes_outside_the_usual_are_warned_of(tmp_path):
    case = laid(tmp_path, LAYOUT + '[layout.board]\nrow = "70 mm"\n')
    assert any("[layout.board], field 'row' = 70 mm: outside the usual" in line for line in case.warnings)


def test_a_layout_changes_what_a_case_says(tmp_path):
    plain = laid(tmp_path).fingerprint
    assert laid(tmp_path, LAYOUT + "# a remark\n").fingerprint == plain
    assert laid(tmp_path, LAYOUT.replace('"12 mm"', '"12.5 mm"')).fingerprint != plain


DIRECT = """
[layout.keyboard]
octave = "168 mm"
middle = "{middle}"
[layout.chest]
order = "chromatic"
bar = "BAR"
back = "190 mm"
up = "260 mm"
[layout.run]
key = {{ back = "440 mm", up = "-20 mm" }}
"""


def direct(folder, bar, middle):
    more = DIRECT.format(middle=middle).replace("BAR", bar)
    changes = [('length = { csv = "chest.csv", column = "wire", unit = "mm" }', "length = { layout = true }")]
    changes += [('width = "14 mm"\ndepth', 'width = "9 mm"\ndepth')]
    return write_case(folder, *changes, more=more)


def test_a_direct_pin_action_stands_straight_under_its_keys(tmp_path):
    """Keys in twelfths of 168 mm, grooves of 9 with bars of 5 mm: 14 mm both. C4 to G4 has its tails' middle at 4 of 12
    and its naturals' at 2.5 of 7 of the octave: the keyboard stands 4 mm to the right for that.
    """
    case = read_case(direct(tmp_path, "5 mm", "4 mm"))
    assert {place.side for place in case.layout.places.values()} == {"straight"}
    assert case.layout.board is None and case.layout.splayed == ""
    assert list(lengths(case, "pull-down").values()) == pytest.approx([0.280] * 8)


def test_what_nothing_carries_sideways_is_named(tmp_path):
    with pytest.raises(Exception, match=r"neither roller nor fan carries the motion sideways.*at C4 to G4 "):
        read_case(direct(tmp_path, "6 mm", "4 mm"))


def test_pallets_of_the_classical_manual_need_28_mm(tmp_path):
    """Grooves of 20 mm with pallets of 27 mm (Dom Bedos, L'Art du facteur d'orgues, 1766-78, art. 473, second-hand):
    bars of 8 mm leave them a millimetre, bars of 6 mm do not.
    """
    pallet = {
        'width = "14 mm"\ndepth': 'width = "20 mm"\ndepth',
        'opening_width = "14 mm"': 'opening_width = "20 mm"\noverlap = "3.5 mm"',
    }
    for bar, met in (("8 mm", False), ("6 mm", True)):
        case = laid(tmp_path, LAYOUT.replace('"12 mm"', f'"{bar}"'), pallet)
        told = [line for line in case.warnings if "neighbours overlap by up to 1 mm" in line]
        assert bool(told) == met and all(" at C3 to C5" in line for line in told)
        at = [place.pallet for place in case.layout.places.values()]
        assert at[1] - at[0] == pytest.approx(0.028 if bar == "8 mm" else 0.026)


def test_a_fan_takes_the_place_of_the_board(tmp_path):
    """Suspended keys under a chest a millimetre a note wider: each wire is the hypotenuse."""
    path = direct(tmp_path, "6 mm", "4 mm")
    path.write_text(path.read_text() + '[layout.fan]\npart = "pull-down"\n')
    case = read_case(path)
    assert case.layout.splayed == "pull-down" and case.layout.board is None
    for i, note in enumerate(case.compass):
        assert lengths(case, "pull-down")[note] == pytest.approx((0.280**2 + ((i - 3.5) * 1e-3) ** 2) ** 0.5)


def test_angles_that_the_layout_does_not_draw_are_told(tmp_path):
    found = laid(tmp_path, changes={'in_arm = "60 mm"\n': 'in_arm = "60 mm"\nin_arm_angle = "-15 deg"\n'})
    told = [line for line in found.warnings if "draws its arms square" in line]
    assert len(told) == 1
    assert "[[train]] roller, field 'in_arm_angle' at C3 to C5" in told[0]


def test_bodies_wider_than_their_neighbours_leave_room_for_are_told(tmp_path):
    found = laid(tmp_path, LAYOUT + '\n[layout.board]\nrow = "20 mm"\n')
    assert [line for line in found.warnings if "its rows stand 20 mm apart" in line]
    assert not [line for line in laid(tmp_path).warnings if "neighbours would meet" in line]


def test_a_rod_that_leans_is_told(tmp_path):
    moved = LAYOUT.replace('upper-square = { back = "1450 mm"', 'upper-square = { back = "1800 mm"')
    found = laid(tmp_path, moved)
    assert any("drop leans" in line and "side = " in line for line in found.layout.remarks)
    assert found.layout.remarks != laid(tmp_path).layout.remarks


def test_a_roller_of_unequal_arms_to_one_side_can_be(tmp_path):
    found = laid(tmp_path, changes={'in_arm = "60 mm"\n': 'in_arm = "59 mm"\n'})
    turn = next(one for one in found.layout.paths[60].turns if one.kind == "roller")
    assert math.dist(turn.near[1:], turn.in_end[1:]) == pytest.approx(0.059)
