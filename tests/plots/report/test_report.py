"""The report: one page that holds everything, and sheets that match the result."""

import csv
import re
from dataclasses import replace

import numpy as np
import pytest
from page_read import Page
from workshop_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.text.signs import unseen
from keyaction.models.units.quantity import convert
from keyaction.plots.report import sheets as report_sheets
from keyaction.plots.report import words as report_words
from keyaction.plots.report.case import case_of
from keyaction.plots.report.printed import css_text, rows_a_page
from keyaction.plots.report.report import make_report
from keyaction.sim.figures.columns import shown_in
from keyaction.sim.files.labelled import Result
from keyaction.sim.run.run import run

ODD = 'A <b>title</b> & "more" {{ x }} </style><script>alert(1)</script> of $5'
WIRE = """wire = { diameter = "1.6 mm", material = "music-wire", coil_diameter = "20 mm", turns = 2.5, arm = "120 mm", \
free_gape = "220 mm", closed_gape = "60 mm" }"""


def test_the_page_is_well_formed_and_stands_alone(report):
    page = Page(report.html)
    assert page.wrong == [] and page.open == []
    assert len(page.ids) == len(set(page.ids))
    inner = {address for address in page.addresses if address.startswith("#")}
    assert inner and {address[1:] for address in inner} <= set(page.ids)
    outside = [a for a in page.addresses if not a.startswith(("#", "data:image/png;base64,"))]
    assert outside == []
    text = re.sub(r"data:image/png;base64,[A-Za-z0-9+/=]+", "", report.html)
    assert not re.search(r"https?:|//[a-z]|url\(|@import|<script|<link|<iframe", text)


def test_every_picture_is_in_the_page(report):
    page = Page(report.html)
    assert len(page.pictures) == 9  # of C4: slow press, feel, path, budget; compass, budgets; compared 3
    for one in page.pictures:
        assert one["src"].startswith("data:image/png;base64,iVBORw0KGgo")
        assert one["alt"]


def test_the_sections_stand_in_their_order(report):
    wanted = [
        "summary",
        "springs",
        "figures",
        "regulation",
        "cutting",
        "compared",
        "pictures",
        "assumptions",
        "cautions",
    ]
    assert [one for one in Page(report.html).ids if one in wanted] == wanted


def test_the_page_shows_what_the_sheets_hold(report):
    page = Page(report.html)
    sheets = {sheet.name: sheet for sheet in report.sheets}
    for name in ("springs", "figures", "cutting", "materials", "glance", "compared-brief"):
        assert page.tables[f"sheet-{name}"][1:] == list(sheets[name].shown())


def rows_of(path):
    head, *rows = csv.reader(path.read_text(encoding="utf-8").splitlines())
    return head, {row[0]: row[1:] for row in rows}


def test_the_files_are_those_named(written):
    folder, names = written
    assert sorted(path.name for path in folder.iterdir()) == names
    assert {"report.html", "springs.csv", "figures.csv", "regulation.csv", "cutting.csv", "materials.csv"} <= set(names)


def test_figures_as_csv_are_those_of_the_result(written, played):
    head, rows = rows_of(written[0] / "figures.csv")
    assert list(rows) == played.notes
    entries = [entry for entry in shown_in("figures") if not entry.quantity.percent]
    assert len(entries) == len(head) - 3  # beside the note, the step and the dip as written
    for entry in entries:
        unit = played.variables[entry.name].unit
        heading = "dip at 5 N" if entry.name == "key_dip" else " ".join(entry.heading.split())
        column = head.index(f"{heading} ({convert(1.0, unit)[1]})") - 1
        shown = [float(rows[note][column]) for note in played.notes]
        one_place_more = 0.5 * 10.0 ** -(entry.places + 1)
        np.testing.assert_allclose(shown, convert(played[entry.name], unit)[0], rtol=0, atol=1.001 * one_place_more)


def test_both_dips_are_there_and_named(report, written, played):
    """The case writes 9.5 mm; 5 N press the key further, into the felt."""
    head, rows = rows_of(written[0] / "figures.csv")
    first = dict(zip(head[1:], rows["C4"], strict=True))
    assert float(first["dip as written (mm)"]) == 9.5
    assert float(first["dip at 5 N (mm)"]) == pytest.approx(1e3 * played.value("key_dip", "C4"), abs=0.006)
    assert float(first["dip at 5 N (mm)"]) > 9.8
    listed = next(one for one in report.sheets if one.name == "regulation")
    assert listed.note.startswith("Dip at 5 N: into the bottom felt.")
    # The list has the one dip alone, and its footer names no other.
    assert [one.title for one in listed.columns if "dip" in one.title] == ["dip at 5 N (mm)", "found dip at 5 N (mm)"]
    assert "as written" not in listed.note
    words = " ".join(" ".join(Page(report.html).words).split())
    assert "% of the dip at 5 N" in words and "Dip as written: to the untouched bottom felt" in words


@pytest.mark.parametrize(
    ("rows", "a_page"), [(1, 1), (56, 56), (62, 62), (63, 32), (73, 37), (124, 62), (125, 42), (0, 1)]
)
def test_a_long_table_is_shared_out_evenly_over_its_pages(rows, a_page):
    assert rows_a_page(rows) == a_page


def test_no_heading_stands_twice_in_a_file_nor_breaks_a_word(report):
    for sheet in report.sheets:
        head = sheet.csv().splitlines()[0]
        names = next(csv.reader([head]))
        assert len(set(names)) == len(names), sheet.name
        assert "- " not in head, sheet.name


def test_figures_in_files_are_a_little_finer_than_read_and_no_more(report):
    for sheet in report.sheets:
        for row in list(csv.reader(sheet.csv().splitlines()))[1:]:
            for column, text in zip(sheet.columns, row, strict=True):
                if not column.text and re.fullmatch(r"-?[0-9.]+", text):
                    digits, decimals = text.lstrip("-0.").replace(".", ""), len(text.partition(".")[2])
                    fine = len(digits) <= 5 if column.places is None else decimals == column.places + 1
                    assert fine or "." not in text, (sheet.name, column.title, text)
                    assert text not in ("-0", "-0.0", "-0.00")


def test_every_word_of_a_card_has_its_name(report):
    """What a narrow screen shows of tables of words: rows as cards, each value behind its column's name."""
    table = re.search(r'<table id="sheet-materials".*?</table>', report.html, re.DOTALL)
    assert table
    names = re.findall(r'data-name="([^"]*)"', table[0])
    assert names[:5] == ["property", "value", "spread", "status", "source"]
    assert len(names) == table[0].count("<td")
    assert "@media (max-width: 40rem)" in report.html and "content: attr(data-name)" in report.html


def test_springs_as_csv_by_hand(written, played):
    # The case: 3 N at 100 mm from the hinge, 12 N/m; the eye at 165 mm. Stored: F^2/2k.
    head, rows = rows_of(written[0] / "springs.csv")
    first = dict(zip(head[1:], map(float, rows["C4"]), strict=True))
    assert first["from hinge (mm)"] == pytest.approx(100)
    assert first["force shut (gf)"] == pytest.approx(3 / 9.80665e-3, abs=0.05)
    opened = 3 + 12 * played.value("steady_lift", "C4") * 100 / 165
    assert first["force open (gf)"] == pytest.approx(opened / 9.80665e-3, abs=0.05)
    assert first["stored shut (mJ)"] == pytest.approx(1e3 * 9 / 24, abs=0.05)
    assert first["stored open (mJ)"] == pytest.approx(1e3 * opened**2 / 24, abs=0.05)
    eye = played.value("closing_force", "C4") / 9.80665e-3
    assert first["at eye, wind off (gf)"] == pytest.approx(eye, abs=0.05)
    assert first["less friction (gf)"] == pytest.approx(eye - 0.0005 / 0.165 / 9.80665e-3, abs=0.05)


def test_lengths_to_cut_are_the_cases(written):
    head, rows = rows_of(written[0] / "cutting.csv")
    assert head == ["note", "level-tracker (mm)", "pull-down (mm)"]
    assert [float(x) for x in rows["C#4"]] == pytest.approx([1400 - 200 / 7, 252], abs=0.005)


def test_the_wire_of_a_spring_is_in_the_schedule(tmp_path, played):
    path = write_case(tmp_path, ('force = "3 N"\nrate = "12 N/m"', WIRE))
    case = read_case(path)
    sheet = report_sheets.springs_sheet(played, case, "trade")
    titles = [column.title for column in sheet.columns]
    row = dict(zip(titles, sheet.rows[0], strict=True))
    assert (row["wire of"], row["wire (mm)"], row["turns"]) == ("music-wire", pytest.approx(1.6), 2.5)
    # By hand: K_i 32 F l / (pi d^3) over 2211/d^0.145 MPa (Shigley, Table 10-4), C = 12.5.
    index = 20 / 1.6
    factor = (4 * index**2 - index - 1) / (4 * index * (index - 1))
    force = row["force\nopen (gf)".replace("\n", " ")] * 9.80665e-3
    share = factor * 32 * force * 0.120 / (np.pi * 0.0016**3) / (2211e6 / 1.6**0.145)
    assert row["stress open (% of strength)"] == pytest.approx(100 * share, rel=1e-4)


def test_the_case_is_read_again_from_the_result(played, case_path):
    found, given = case_of(played), read_case(case_path)
    assert found is not None
    assert found.fingerprint == given.fingerprint
    assert case_of(replace(played, about={**played.about, "case_text": "format = 99"})) is None


def changed(result: Result, **arrays) -> Result:
    variables = dict(result.variables)
    for name, data in arrays.items():
        variables[name] = replace(variables[name], data=np.asarray(data))
    return replace(result, variables=variables)


def told(result, comparison=None):
    return {one.text: one.beware for one in report_words.findings(result, comparison, "trade")}


@pytest.mark.parametrize(
    ("arrays", "words"),
    [
        (
            {"pluck_force": [1.4, 1.6, 1.2]},
            "Heavy: C#4 plucks with 163 gf, more than 150 gf, the limit of comfort of one keyboard (common practice).",
        ),
        ({"evenness": [np.nan, 0.08, 0.0]}, "Uneven: 1 of 2 steps between neighbours exceed 7\u00a0% of force"),
        ({"repetition_rate": [5.0, 7.0, 7.0]}, "below 6 Hz at C4"),
        ({"closing_force": [0.001, 1.0, 1.0]}, "Springs do not close the pallet with the wind off at C4: ciphers"),
        (
            {"verdict": np.array(["hangs: held by a", "hangs: held by a", "speaks and falls silent"], dtype=object)},
            "C4, C#4: hangs (held by a)",
        ),
        (
            {"verdict": np.array(["hangs: held by a", "hangs: held by a", "speaks and falls silent"], dtype=object)},
            "C4 to C#4 all the same does not fall silent",
        ),
        ({"pluck_force": [np.nan] * 3}, "No note plucks"),
        ({"status": np.array(["ok", "failed: why", "ok"], dtype=object)}, "Could not be played: C#4"),
    ],
)
def test_what_asks_for_attention_is_said_first_and_marked(played, arrays, words):
    assert not any(words in text for text in told(played))
    marked = [text for text, beware in told(changed(played, **arrays)).items() if words in text and beware]
    assert len(marked) == 1


def test_the_guides_of_the_compared_rods_are_advised(report):
    assert "Guides of the rods" in report.html and "level-tracker, C#4, A" in report.html
    assert "keep" in report.html[report.html.index("Guides of the rods") :]


def test_a_comparison_is_in_the_summary(played, compared):
    assert any("Compared: B against A: pluck force" in text for text in told(played, compared))


def test_cautions_and_sources_are_there(report):
    words = " ".join(" ".join(Page(report.html).words).split())
    for one in report_words.CAUTIONS:
        assert one.title in words and one.text in words
    for source in (*report_words.SOURCES, *report_words.COMPARED_SOURCES):
        assert source in words
    for wanted in ("under load", "dust and splinters", "Historic material", "Heavy touch", "Local codes", "licensed"):
        assert wanted in words


def test_every_assumption_of_the_case_is_listed(report, played):
    words = " ".join(" ".join(Page(report.html).words).split())
    for one in played.assumptions():
        assert f"{one.value}: {one.source or 'default'}" in words


def test_a_title_with_signs_of_html_is_shown_as_it_is(played):
    made = make_report(replace(played, about={**played.about, "title": ODD}))
    page = Page(made.html)
    assert page.wrong == [] and page.open == []
    assert ODD in page.words
    assert "<script" not in made.html and made.html.count("</style>") == 1


def test_a_page_holds_no_sign_that_cannot_be_seen(played):
    about = {**played.about, "title": "a\x1b[31m\x07b", "description": "c\0\u202ed"}
    assert unseen(make_report(replace(played, about=about)).html) == ""


def test_a_css_text_holds_no_sign_that_could_end_it():
    assert css_text('a"b\\c\n</style>') == "a\\22 b\\5c c\\a \\3c \\2f style\\3e "


SAGGING = """
[notes."C#4".pallet-spring]
force = "0.2 N"
"""


@pytest.fixture(scope="module")
def sagging(tmp_path_factory):
    """Two notes, of which one spring does not carry its pallet: that note cannot be played."""
    result = run(read_case(write_case(tmp_path_factory.mktemp("sagging"), more=SAGGING)), "C4,C#4")
    assert str(result["status"][0]) == "ok" and str(result["status"][1]) != "ok"
    return result


def test_a_failed_note_has_its_row_of_the_spring_schedule(sagging, played):
    """By hand: 0.2 N at 100 mm from the hinge in place of 3 N, over the eye at 165 mm."""
    sheets = (report_sheets.springs_sheet(one, case_of(one), "trade") for one in (played, sagging))
    well, weak = (next(row for row in csv.DictReader(one.csv().splitlines()) if row["note"] == "C#4") for one in sheets)
    assert float(weak["from hinge (mm)"]) == pytest.approx(100, abs=0.05)
    assert float(weak["force shut (gf)"]) == pytest.approx(0.2 / 9.80665e-3, abs=0.05)
    assert float(weak["rate (N/mm)"]) == float(well["rate (N/mm)"]) == pytest.approx(0.012)
    less = (3.0 - 0.2) * 100 / 165 / 9.80665e-3
    assert float(well["at eye, wind off (gf)"]) - float(weak["at eye, wind off (gf)"]) == pytest.approx(less, abs=0.1)
    assert weak["force open (gf)"] == ""  # how far it opens nobody knows


def test_a_spring_that_does_not_close_its_pallet_is_named_though_the_note_failed(sagging):
    def told(case):
        return [one.text for one in report_words.findings(sagging, None, "trade", case) if "wind off" in one.text]

    assert told(case_of(sagging)) == ["Springs do not close the pallet with the wind off at C#4: ciphers."]
    (blind,) = told(None)
    assert "each spring" not in blind and blind.endswith("; of C#4 it is not known.")


def test_not_every_note_is_said_to_speak_where_one_failed(played):
    status = np.array(["ok", "failed: why", "ok"], dtype=object)
    unknown = np.array(["speaks and falls silent", "not known", "speaks and falls silent"], dtype=object)
    words = told(changed(played, status=status, verdict=unknown))
    assert any(text.startswith("Every other note speaks") for text in words)
    hangs = np.array(["speaks and falls silent", "hangs: it falls", "speaks and falls silent"], dtype=object)
    words = told(changed(played, status=status, verdict=hangs))
    assert "C#4: hangs (it falls)." in words and not any("Every" in text for text in words)


def test_one_failed_note_leaves_a_report(tmp_path):
    from short_case import ABSURD

    result = run(read_case(write_case(tmp_path, more=ABSURD.format(note='"C#4"'))), "C4,C#4")
    page = Page(make_report(result, units="si").html)
    assert page.wrong == []
    assert any("Could not be played: C#4" in text for text in page.words)
    assert set(page.tables["sheet-figures"][2][1:]) == {"-"}
