"""A page for the work at the instrument: sentences first, then tables, forms to fill in, and pictures."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from jinja2 import DictLoader, Environment, StrictUndefined

from keyaction._version import __version__
from keyaction.cases.text.signs import without_unseen
from keyaction.plots.report.browser import print_pdf
from keyaction.plots.report.printed import css_text, rows_a_page
from keyaction.sim.files.folders import staged
from keyaction.sim.tables.sheet import Column, Sheet

if TYPE_CHECKING:
    from keyaction.plots.report.pictures import Picture

_UPRIGHT, _ACROSS = 104, 156
"""Letters in a line of a table on A4, upright and across."""
_WRAPPED = 18
"""Letters at which words in a table begin a new line."""
_GAP = 2
_SHORT = 24
"""Rows up to which a table shares its printed page with others."""
_FORM_ROWS = 30
"""Rows to write in that a page of A4 holds."""


@dataclass(frozen=True)
class Form:
    """A table to be filled in by hand.

    Attributes
    ----------
    sheet : Sheet
        What is expected in every cell; an empty text where nothing is.
    boxes : collection of int
        Columns to write in; what is expected there stands small and grey beside the box.
    """

    sheet: Sheet
    boxes: Collection[int]


@dataclass(frozen=True)
class _Table:
    """A table as it is printed: across the paper where it is too wide for it upright."""

    sheet: Sheet
    across: bool
    boxes: frozenset[int] = frozenset()
    per: int = 0
    first: bool = True

    @property
    def kind(self) -> str:
        """Its classes: one whose words may break is no list of figures."""
        words = any(column.text for column in list(self.sheet.columns)[1:])
        return f"notes{' form' if self.boxes else ''}{' wrapped' if words else ''}"

    @property
    def rows(self) -> Iterator[list[tuple[str, Column, str]]]:
        """Cells with their columns and classes."""
        for row in self.sheet.shown():
            yield [
                (cell, column, self._class(i, cell, column))
                for i, (cell, column) in enumerate(zip(row, self.sheet.columns, strict=True))
            ]

    def _class(self, i: int, cell: str, column: Column) -> str:
        found = ["text" if column.text else "number"]
        found += ["box"] if i in self.boxes else []
        found += ["beyond"] if cell.endswith("!") else []
        return " ".join(found)


@dataclass(frozen=True)
class Page:
    """What stands on a page.

    Attributes
    ----------
    title : str
    lines : sequence of str
        The answer, in sentences.
    sheets : sequence of Sheet
        Each is a CSV file as well.
    warnings : sequence of str
        What must be known before the lines are believed.
    facts : sequence of (str, str)
        Of what it is, when and how it was made.
    blanks : sequence of str
        Words with a line to write on behind each, such as the date.
    steps : sequence of str
        The order of work.
    forms : sequence of Form
    pictures : sequence of Picture
    cautions : sequence of str
    lead : str
        One line under the title.
    steps_title : str
    texts : mapping of str to str
        Other files to be written beside it, by their names.
    """

    title: str
    lines: Sequence[str] = ()
    sheets: Sequence[Sheet] = ()
    warnings: Sequence[str] = ()
    facts: Sequence[tuple[str, str]] = ()
    blanks: Sequence[str] = ()
    steps: Sequence[str] = ()
    forms: Sequence[Form] = ()
    pictures: Sequence[Picture] = ()
    cautions: Sequence[str] = ()
    lead: str = ""
    steps_title: str = "Order of work"
    texts: Mapping[str, str] = field(default_factory=dict)


def save_page(
    folder: Path,
    name: str,
    title: str,
    lines: Sequence[str],
    sheets: Sequence[Sheet],
    *,
    browser: str | None = None,
    **more: Any,
) -> list[Path]:
    """Write a page into a folder, and a CSV file for each of its sheets.

    Parameters
    ----------
    folder : Path
        Made if it is not there; files of the same name and kind are replaced.
    name : str
        Of the page's file, without its ending.
    title : str
    lines : sequence of str
        The answer, in sentences.
    sheets : sequence of Sheet
    browser : str, optional
        From `keyaction.plots.report.browser.find_browser`: then it is printed as PDF too.
    **more
        The other attributes of `Page`, among them ``warnings``, ``facts``, ``steps``, ``forms``, ``pictures``,
        ``cautions``, and ``texts``: other files by their names.

    Returns
    -------
    list of Path
        The files.

    Raises
    ------
    keyaction.sim.files.problem.FileProblem
        When something cannot be written; then nothing is.
    keyaction.plots.report.browser.NotPrinted
        When the browser fails; the page and the sheets are there.
    """
    page = Page(title, lines, sheets, **more)
    html = page_html(page)
    with staged(folder) as made:
        (made / f"{name}.html").write_text(html, encoding="utf-8")
        for sheet in sheets:
            (made / f"{sheet.name}.csv").write_text(sheet.csv(), encoding="utf-8")
        for file, text in page.texts.items():
            (made / file).write_text(text, encoding="utf-8")
        names = sorted(path.name for path in made.iterdir())
    if browser:
        with staged(folder) as made:
            print_pdf(folder / f"{name}.html", made / f"{name}.pdf", browser)
        names.append(f"{name}.pdf")
    return [folder / one for one in names]


def page_html(page: Page) -> str:
    """The page as HTML that needs nothing beside it."""
    tables = [one for sheet in page.sheets for one in _printed(sheet)]
    forms = [
        _Table(
            form.sheet,
            _width(form.sheet) > _UPRIGHT,
            frozenset(form.boxes),
            rows_a_page(len(form.sheet.rows), _FORM_ROWS),
        )
        for form in page.forms
    ]
    folder = files("keyaction.plots")
    texts = {
        "page.html": folder.joinpath("onsite/templates/page.html").read_text(encoding="utf-8"),
        "page.css": folder.joinpath("onsite/templates/page.css").read_text(encoding="utf-8"),
        "tables.html": folder.joinpath("report/templates/tables.html").read_text(encoding="utf-8"),
        "report.css": folder.joinpath("report/templates/report.css").read_text(encoding="utf-8"),
    }
    environment = Environment(
        loader=DictLoader(texts), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    made = environment.get_template("page.html").render(
        page=page,
        tables=tables,
        forms=forms,
        version=__version__,
        short=_SHORT,
        css_title=css_text(f"{page.title[:90]}, keyaction {__version__}"),
        files=[f"{sheet.name}.csv" for sheet in page.sheets] + list(page.texts),
    )
    return without_unseen(made)


def _printed(sheet: Sheet) -> Iterator[_Table]:
    """A table upright, across the paper, or in pieces of which each fits upright."""
    width = _width(sheet)
    if width <= _ACROSS:
        yield _Table(sheet, width > _UPRIGHT, _blank(sheet))
        return
    for i, piece in enumerate(sheet.pieces(1, _ACROSS, _GAP)):
        yield _Table(piece, across=True, boxes=_blank(piece), first=i == 0)


def _blank(sheet: Sheet) -> frozenset[int]:
    """Columns of words in which nothing stands: somebody is to write there."""
    rows = list(sheet.rows)
    return frozenset(
        i for i, column in enumerate(sheet.columns) if column.text and rows and all(row[i] == "" for row in rows)
    )


def _width(sheet: Sheet) -> int:
    """Letters of its widest row, words broken where they may be."""
    shown = list(sheet.shown())
    widths = 0
    for i, column in enumerate(sheet.columns):
        words = [*column.heading.split("\n"), column.unit]
        cells = [row[i] for row in shown]
        wide = max(map(len, [*words, *cells]), default=0)
        longest = max((len(word) for cell in cells for word in cell.split()), default=0)
        widths += (max(min(wide, _WRAPPED), longest, *map(len, words)) if column.text else wide) + _GAP
    return widths
