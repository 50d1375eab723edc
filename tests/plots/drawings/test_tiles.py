"""Large sheets in tiles: all of the sheet is on one of them, and neighbours fit."""

from dataclasses import replace

import pytest
from laid_out import Made, laid_out
from measured import pdf_pages

from keyaction.plots.drawings.board import board_drawing
from keyaction.plots.drawings.boxes import box_of
from keyaction.plots.drawings.cuts import roller_cuts
from keyaction.plots.drawings.drawing import Stroke, Text
from keyaction.plots.drawings.foot import CHECK, Titles
from keyaction.plots.drawings.paper import FULL, Paper, Scale
from keyaction.plots.drawings.pdf import pdf
from keyaction.plots.drawings.sheet import Page, page
from keyaction.plots.drawings.tiles import OVERLAP, grid, tile_name, tiles

TITLES = Titles("An invented organ", "Upper manual", "some.toml")


def wide_board(metres=3.0):
    """A full-size sheet of a board so wide."""
    case = laid_out()
    board = case.layout.board
    ends = [place for one in board.rollers.values() for place in one.bearings]
    by = metres / (max(ends) - min(ends))
    rollers = {
        note: replace(one, key=one.key * by, pallet=one.pallet * by, bearings=tuple(x * by for x in one.bearings))
        for note, one in board.rollers.items()
    }
    layout = replace(case.layout, board=replace(board, rollers=rollers))
    drawing = board_drawing(layout.board, roller_cuts(case, layout), FULL)
    whole = page(drawing, TITLES, None)
    assert whole is not None
    return whole


def test_a_board_of_three_metres_on_a4():
    whole = wide_board()
    assert whole.paper.width > 3000
    made = tiles(whole, "A4")
    cut = grid(whole, "A4")
    assert len(made) <= 1 + cut.rows * cut.columns
    assert {sorted((one.paper.width, one.paper.height))[0] for one in made} == {210.0}
    for one in made[1:]:
        words = [item.words for item in one.beside if isinstance(item, Text)]
        assert any(word.startswith("Tile ") for word in words)
        assert any(CHECK in word for word in words)
        (bar,) = [item for item in one.beside if isinstance(item, Stroke) and item.of == "scale bar"]
        assert box_of(bar, 1.0).width == pytest.approx(50.0)


def test_everything_of_the_sheet_is_within_the_windows():
    whole = wide_board(1.6)
    cut = grid(whole, "A4")
    windows = [cut.window(row, column) for row in range(cut.rows) for column in range(cut.columns)]
    assert max(one.right for one in windows) >= whole.paper.width
    assert max(one.top for one in windows) >= whole.paper.height
    assert min(one.left for one in windows) == min(one.foot for one in windows) == 0.0
    first, right = cut.window(0, 0), cut.window(0, 1)
    assert first.right - right.left == pytest.approx(OVERLAP)
    assert cut.window(0, 0).foot + OVERLAP == pytest.approx(cut.window(1, 0).top)


def test_no_word_is_cut_through_on_every_tile_that_shows_it():
    # A word narrower than the overlap is whole on at least one tile; wider ones may be read across the joint.
    whole = wide_board(1.6)
    cut = grid(whole, "A4")
    windows = [cut.window(row, column) for row in range(cut.rows) for column in range(cut.columns)]
    for item in whole.items:
        box = box_of(item, 1.0)
        if isinstance(item, Text) and box.width < OVERLAP and box.height < OVERLAP:
            assert any(
                one.left <= box.left and box.right <= one.right and one.foot <= box.foot and box.top <= one.top
                for one in windows
            )


def test_register_marks_of_neighbours_are_the_same_places_of_the_sheet():
    whole = wide_board(1.6)
    cut = grid(whole, "A4")
    marks = set(cut.marks)
    for row in range(cut.rows):
        for column in range(cut.columns):
            window = cut.window(row, column)
            inside = [(x, y) for x, y in marks if window.left <= x <= window.right and window.foot <= y <= window.top]
            assert len(inside) == 4  # one in each corner, midway in the overlap


def test_tiles_show_what_the_sheet_has_there():
    whole = wide_board(1.6)
    cut = grid(whole, "A4")
    made = {one.title.rsplit(" ", 1)[1]: one for one in tiles(whole, "A4")[1:]}
    for row in range(cut.rows):
        for column in range(cut.columns):
            window = cut.window(row, column)
            name = tile_name(row, column)
            touching = [item for item in whole.items if item.of != "frame" and box_of(item, 1.0).meets(window)]
            assert len(made[name].items if name in made else ()) == len(touching)


def test_names_of_tiles():
    assert [tile_name(*one) for one in ((0, 0), (0, 11), (1, 0), (25, 2), (26, 0))] == ["A1", "A12", "B1", "Z3", "AA1"]


def test_a_tiled_pdf_has_a_map_and_its_tiles():
    whole = wide_board(1.6)
    content = pdf(whole)
    assert len(pdf_pages(content)) == len(tiles(whole, "A4"))
    for size in pdf_pages(content):
        assert sorted(size) == pytest.approx([210 / 25.4 * 72, 297 / 25.4 * 72], abs=0.01)
    assert pdf(whole) == content


def test_empty_tiles_are_left_out():
    corner = Page(
        Paper("Tiled", 900.0, 900.0), Scale(1, 1), "two corners",
        (Stroke("RODS", ((5.0, 5.0), (20.0, 20.0))), Stroke("RODS", ((880.0, 880.0), (890.0, 890.0)))), tiled=True,
    )  # fmt: skip
    assert len(tiles(corner, "A4")) == 3


@pytest.mark.parametrize("made", [Made(notes=(60,), bar=0.009, order="chromatic")])
def test_a_board_with_one_note(made):
    case = laid_out(made)
    drawing = board_drawing(case.layout.board, roller_cuts(case, case.layout), FULL)
    assert [item.words for item in drawing.items if isinstance(item, Text) and item.of == "note"] == ["C4", "C4"]
    assert page(drawing, TITLES, None) is not None
