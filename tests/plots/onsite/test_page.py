"""Pages for the work at the instrument: what is on them, beside them, and whether a browser shows all of it."""

from pathlib import Path

import pytest
from browser_look import A4, browser, filled, look

from keyaction.models.notes import note_name
from keyaction.plots.onsite.page import Card, Page, page_html, save_page
from keyaction.plots.onsite.tables import Form, laid
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.tables.sheet import Column, Sheet

WEIGHTS = ("pluck", "hold", "up")
FIGURES = ("level", "dip", "play", "pluck\npoint", "lift", *WEIGHTS, *(f"{one},\nwind off" for one in WEIGHTS))
LINES = ("The pluck of F#3 is 230 gf, which <lies> above its neighbours.",)


def works(count):
    heads = ("note", "work", "as found", "proposed", "reversible", "trace left", "who", "when")
    row = ("turn a nut or button on its thread", "level -0.4 mm, pluck 230 gf", "nut of drop 1.25 turns tighter", "yes")
    rows = [[note_name(36 + i), *row, "none, if the thread is sound; count the turns", "", ""] for i in range(count)]
    return Sheet("works", "Proposed work", [Column(head, text=True) for head in heads], rows)


def form(count):
    columns = [Column("note", text=True), *(Column(one, "mm", 1) for one in FIGURES), Column("remark", text=True)]
    rows = [[note_name(36 + i), *(3.25 + k for k in range(len(FIGURES))), ""] for i in range(count)]
    return Form(Sheet("form", "To fill in", columns, rows, "Grey: expected."), range(1, len(columns)))


def page(count):
    steps = [("", "Press every key once."), ("measure", "with patience " * 20)]
    cards = [Card("F#3", [("found", "the spring is weak " * 9), ("make sure", "weigh it"), ("done by, on", "")])] * 3
    return Page(
        "On site", LINES, [works(count)], blanks=["date"], steps=steps, cards=cards, forms=[form(count)],
        warnings=["Odd."],
    )  # fmt: skip


def test_it_says_what_it_was_given():
    html = page_html(page(2))
    assert "&lt;lies&gt;" in html
    assert '<li class="beware">Odd.</li>' in html
    assert "<dt>date</dt>" in html
    assert html.count('class="number box"') == 2 * len(FIGURES)
    assert html.count('class="text box"') == 2 * (1 + 2)  # remarks, and who and when of the works


def test_files_beside_it(tmp_path):
    made = save_page(tmp_path / "new", "page", "On site", LINES, [works(2)], texts={"more.txt": "x\n"})
    assert [path.name for path in made] == ["more.txt", "page.html", "works.csv"]
    assert all(path.is_file() for path in made)
    assert made[2].read_text().startswith("note,work,")


def test_a_strangers_file_stays(tmp_path):
    (tmp_path / "page.html").write_text("mine")
    with pytest.raises(FileProblem, match="no report of this program"):
        save_page(tmp_path, "page", "On site", LINES, [works(2)])
    assert [path.name for path in tmp_path.iterdir()] == ["page.html"]


@pytest.mark.skipif(browser() is None, reason="no browser")
@pytest.mark.parametrize("count", [2, 56])
def test_a_browser_shows_all_of_it(tmp_path, count):
    html = page_html(page(count))
    for width, printed in ((1000, False), (390, False), (A4, True)):
        told = look(html, tmp_path, width, printed=printed)
        assert told["overlaps"] == []
        assert told["wide"] == []
        assert told["sideways"] <= 0


@pytest.mark.skipif(browser() is None, reason="no browser")
def test_it_is_printed(tmp_path):
    made = save_page(tmp_path, "page", "On site", LINES, [works(56)], forms=[form(56)], browser=browser())
    assert made[-1] == tmp_path / "page.pdf"
    shares = filled(Path(made[-1]).read_bytes())
    assert min(shares) > 0.05
    assert max(shares) <= 1.0


def test_what_is_typed_is_no_part_of_a_page():
    html = page_html(Page("On site", ["F3 rubs (`keyaction diagnose`), and 7 more (--out: lists.csv); so (it) is."]))
    assert "<li>F3 rubs, and 7 more; so (it) is.</li>" in html


def test_a_page_may_show_other_tables_than_lie_beside_it(tmp_path):
    made = save_page(tmp_path, "page", "On site", LINES, [form(2).sheet], files=[works(2)])
    assert [path.name for path in made] == ["page.html", "works.csv"]
    assert "To fill in" in made[0].read_text() and "Proposed work" not in made[0].read_text()


def test_words_get_the_room_that_numbers_leave_and_lie_across_when_they_must():
    long = "unhook the run joint by joint and move each part by hand until nothing rubs"

    def sheet(count):
        columns = [Column("note", text=True), *[Column("look", text=True)] * count, Column("pluck", "gf", 1)]
        return Sheet("look", "Look", columns, [["F#3", *[long] * count, 120.0]])

    few, many = next(laid(sheet(1))), next(laid(sheet(5)))
    assert (few.across, few.widths[1]) == (False, len(long))
    assert many.across and 20 < many.widths[1] < len(long)
    assert many.kind == "notes wrapped words"
    assert "words" not in few.kind
    assert next(laid(sheet(3))).across is False
