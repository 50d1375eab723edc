"""The report looked at by a browser: on screens, on a phone, in print."""

import re
from urllib.parse import quote

import pytest
from browser_look import A4, browser, filled, look, pages
from page_read import Page

from keyaction.plots.report.browser import print_pdf
from keyaction.plots.report.case import case_of
from keyaction.plots.report.report import make_report
from keyaction.sim.weighing.weighoff import unweighed, weigh

needs_browser = pytest.mark.skipif(browser() is None, reason="no Chromium browser on this machine")


@pytest.mark.one_in(2)
@needs_browser
@pytest.mark.parametrize(
    ("width", "dark", "printed"),
    [(1280, False, False), (1280, True, False), (600, False, False), (390, False, False), (A4, False, True)],
    ids=["light", "dark", "narrow", "phone", "paper"],
)
def test_a_browser_sees_no_overlap_and_nothing_off_the_page(report, tmp_path, width, dark, printed):
    seen = look(report.html, tmp_path, width, dark, printed)
    assert seen["texts"] > 500
    assert seen["overlaps"] == []
    assert seen["wide"] == [] and seen["sideways"] == 0
    assert seen["pictures"] == 9
    assert "words" not in seen["pushed"]
    assert seen["pushed"].count("picture") == (9 if width < 800 and not printed else 0)
    if width == 390:
        assert seen["inner"] == 390
        assert seen["drawn"] > 800  # 8 points of a picture 10.5 inches wide are 9 pixels or more
    assert (seen["background"] == "rgb(255, 255, 255)") is not dark
    if printed:
        assert seen["summary"] <= (297 - 14 - 16) / 25.4 * 96  # one page


@pytest.mark.long
@needs_browser
def test_a_note_that_failed_is_one_line_of_the_weigh_off_and_its_reason_in_sight(played, tmp_path):
    weighed = [unweighed(60, "its key hangs by a nail in the rack, and so on " * 5), *weigh(case_of(played), [61, 62])]
    html = make_report(played, weighed=weighed).html
    assert look(html, tmp_path, 390)["tallest"] < 40
    told = Page(html).tables["sheet-weigh-off"]
    assert [row[-1] for row in told] == ["status", "failed", "ok", "ok"]
    assert any(words.startswith("C4: failed: its key hangs by a nail") for words in Page(html).words)
    csv_rows = next(one for one in make_report(played, weighed=weighed).sheets if one.name == "weigh-off").csv()
    assert "failed: its key hangs by a nail in the rack" in csv_rows


@needs_browser
def test_the_look_finds_what_it_is_to_find(report, tmp_path):
    wrong = report.html.replace("</main>", '<p style="width: 3000px">wide</p></main>').replace(
        '<p class="note">', '<p class="note" style="margin-top: -9em">', 1
    )
    seen = look(wrong, tmp_path, 1280)
    assert seen["sideways"] > 0 and "P wide" in seen["wide"] and seen["overlaps"]


@needs_browser
@pytest.mark.long
def test_short_tables_share_printed_pages(played, tmp_path):
    """Three notes: five tables on one page or two, and no page but the last that is mostly empty."""
    found = browser()
    assert found
    weighed = weigh(case_of(played), [60, 61, 62])
    page = make_report(played, weighed=weighed).html
    for name, html in (("short", page), ("apart", page.replace(' class="page short"', ' class="page"'))):
        (tmp_path / f"{name}.html").write_text(html, encoding="utf-8")
        print_pdf(tmp_path / f"{name}.html", tmp_path / f"{name}.pdf", found)
    short, apart = (filled((tmp_path / f"{name}.pdf").read_bytes()) for name in ("short", "apart"))
    assert all(0.5 < share <= 1.0 for share in short[:-1]), short
    assert len(short) <= len(apart) - 3
    assert sum(share < 0.5 for share in apart[:-1]) >= 4  # what the look at the pages is to find


@pytest.mark.long
@needs_browser
def test_a_sheet_that_stands_upright_shares_the_page_of_its_heading(report, tmp_path):
    """Drawings are as large as the page is wide: one on upright A4 left no room for the heading above it."""
    found = browser()
    assert found
    sheet = "data:image/svg+xml," + quote(
        '<svg xmlns="http://www.w3.org/2000/svg" width="210mm" height="297mm"><path d="M0 0L800 1122"/></svg>'
    )
    drawings = (
        '<section id="drawings" class="page"><h2>Drawings</h2><p class="note">As large as this page.</p><figure>'
        f'<div class="scroll"><img src="{sheet}" alt="plan"></div></figure></section>'
    )
    count = {}
    for name, more in (("without", ""), ("with", drawings)):
        (tmp_path / f"{name}.html").write_text(report.html.replace("</main>", f"{more}</main>"), encoding="utf-8")
        print_pdf(tmp_path / f"{name}.html", tmp_path / f"{name}.pdf", found)
        count[name] = pages((tmp_path / f"{name}.pdf").read_bytes())
    assert count["with"] == count["without"] + 1


@needs_browser
def test_the_pdf_is_on_a4(written, tmp_path):
    found = browser()
    assert found
    print_pdf(written[0] / "report.html", tmp_path / "report.pdf", found)
    content = (tmp_path / "report.pdf").read_bytes()
    assert 9 <= pages(content) <= 20
    boxes = {tuple(round(float(x)) for x in box.split()) for box in re.findall(rb"/MediaBox\s*\[([^\]]*)\]", content)}
    assert boxes == {(0, 0, 595, 842)}  # A4 in points
