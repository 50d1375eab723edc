"""The command that makes a report, its browser, and what it refuses."""

import shutil
import stat
import sys
from dataclasses import replace

import pytest
from page_read import Page

from keyaction.plots.compare.save import save_comparison
from keyaction.plots.report.browser import NAMES, VARIABLE, NotPrinted, print_pdf
from keyaction.plots.report.report import write_report
from keyaction.sim.files.hdf5 import save


@pytest.fixture
def with_result(folder, played):
    save(played, folder / "played.h5")
    return folder


@pytest.fixture(scope="module")
def rods(compared, tmp_path_factory):
    """A comparison's folder, to be copied."""
    folder = tmp_path_factory.mktemp("rods")
    save_comparison(compared, folder)
    return folder


def test_a_result_becomes_a_report(with_result, keyaction, rods):
    shutil.copytree(rods, with_result / "rods")
    ended = keyaction("report", "played.h5", "--compare", "rods", "--out", "report", "--units", "si")
    assert ended.status == 0, ended.err
    assert (with_result / "report" / "compared-brief.csv").is_file()
    assert "files in report" in ended.out


def test_a_case_is_played_and_its_result_kept(folder, keyaction):
    ended = keyaction("report", "workshop.toml", "--notes", "C4", "--out", "report", "--jobs", "1")
    assert ended.status == 0, ended.err
    assert (folder / "report" / "workshop.h5").is_file() and (folder / "report" / "report.html").is_file()


def no_browser(monkeypatch, folder):
    monkeypatch.delenv(VARIABLE, raising=False)
    monkeypatch.setenv("PATH", str(folder))


def test_no_browser_is_told_before_anything_is_played_or_written(with_result, keyaction, monkeypatch):
    no_browser(monkeypatch, with_result)
    before = keyaction.tree()
    for source in ("played.h5", "workshop.toml"):
        ended = keyaction("report", source, "--out", "report", "--pdf")
        assert ended.status == 2 and len(ended.lines) == 1
        assert NAMES[0] in ended.err and VARIABLE in ended.err and "leave --pdf out" in ended.err
    assert keyaction.tree() == before and not (with_result / "report").exists()


def test_a_browser_that_is_named_must_be_there(with_result, keyaction, monkeypatch):
    monkeypatch.setenv(VARIABLE, "no-such-browser")
    ended = keyaction("report", "played.h5", "--out", "report", "--pdf")
    assert ended.status == 2
    assert f"{VARIABLE}=no-such-browser" in ended.err and not (with_result / "report").exists()


def fake_browser(folder, text):
    path = folder / "browser"
    path.write_text(f"#!{sys.executable}\n{text}", encoding="utf-8")
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return path


def test_a_browser_that_fails_leaves_the_page_whole(with_result, keyaction, monkeypatch):
    failing = fake_browser(with_result, "import sys; print('no display', file=sys.stderr); sys.exit(7)")
    monkeypatch.setenv(VARIABLE, str(failing))
    ended = keyaction("report", "played.h5", "--out", "report", "--pdf")
    assert ended.status == 1
    assert "exit status 7" in ended.err and "no display" in ended.err and "report.html is whole" in ended.err
    assert Page((with_result / "report" / "report.html").read_text(encoding="utf-8")).wrong == []
    assert not list((with_result / "report").glob("*.pdf")) and not list((with_result / "report").glob(".*"))


def test_something_else_than_a_pdf_is_refused(tmp_path):
    lying = fake_browser(
        tmp_path,
        "import sys; [open(a[15:], 'w').write('hello') for a in sys.argv if a.startswith('--print-to-pdf=')]",
    )
    with pytest.raises(NotPrinted, match="made no PDF"):
        print_pdf(tmp_path / "page.html", tmp_path / "page.pdf", str(lying))
    assert not (tmp_path / "page.pdf").exists()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("nothing.h5",), "no such file"),
        (("nothing",), "no such file"),
        (("played.h5", "--compare", "."), "no comparison is here"),
        (("played.h5", "--notes", "C4"), "--notes C4: goes with a case"),
        (("played.h5", "--jobs", "-2"), "--jobs -2"),
        (("workshop.toml", "--notes", "C9"), "C9"),
        (("rods/compare.h5",), "is a comparison"),
    ],
)
def test_bad_input_is_one_message_and_leaves_nothing(with_result, keyaction, rods, arguments, words):
    shutil.copytree(rods, with_result / "rods")
    before = keyaction.tree()
    ended = keyaction("report", *arguments, "--out", "report")
    assert ended.status == 2
    assert words in ended.err and len(ended.lines) == 1
    assert keyaction.tree() == before and not (with_result / "report").exists()


def test_an_older_report_stays_where_the_new_one_cannot_be_written(report, tmp_path, monkeypatch):
    write_report(report, tmp_path)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    monkeypatch.setattr("keyaction.sim.tables.sheet.Sheet.csv", lambda _: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        write_report(replace(report, html="half"), tmp_path)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before
