"""A page for the work at the instrument: sentences first, then tables, forms to fill in, and pictures."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from jinja2 import DictLoader, Environment, StrictUndefined

from keyaction._version import __version__
from keyaction.cases.text.signs import without_unseen
from keyaction.plots.onsite.tables import Form, form_laid, laid
from keyaction.plots.report.browser import print_pdf
from keyaction.plots.report.printed import css_text
from keyaction.sim.files.folders import staged
from keyaction.sim.tables.sheet import Sheet

if TYPE_CHECKING:
    from keyaction.plots.report.pictures import Picture

_SHORT = 24
"""Rows up to which a table shares its printed page with others."""
_COMMANDS = re.compile(r" \([^()]*(?:--|`keyaction)[^()]*\)")
"""Words for the command line, in brackets of their own."""


@dataclass(frozen=True)
class Card:
    """What is to be done in one place, such as a note, a line for each question.

    Attributes
    ----------
    head : str
    rows : sequence of (str, str)
        The question in a word, and the answer; an empty answer is a line to write on.
    """

    head: str
    rows: Sequence[tuple[str, str]]


@dataclass(frozen=True)
class Page:
    """What stands on a page.

    Attributes
    ----------
    title : str
    lines : sequence of str
        The answer, in sentences.
    sheets : sequence of Sheet
        The tables; one without a row is left out.
    files : sequence of Sheet, optional
        What is written beside it as CSV; by default the tables.
    warnings : sequence of str
        What must be known before the lines are believed.
    facts : sequence of (str, str)
        Of what it is, when and how it was made.
    blanks : sequence of str
        Words with a line to write on behind each, such as the date.
    steps : sequence of (str, str)
        The order of work: what a step is called, empty where it has no name, and what is done.
    cards : sequence of Card
    forms : sequence of Form
    pictures : sequence of Picture
    cautions : sequence of str
    lead : str
        One line under the title.
    steps_title, cards_title : str
    texts : mapping of str to str
        Other files to be written beside it, by their names.
    """

    title: str
    lines: Sequence[str] = ()
    sheets: Sequence[Sheet] = ()
    files: Sequence[Sheet] | None = None
    warnings: Sequence[str] = ()
    facts: Sequence[tuple[str, str]] = ()
    blanks: Sequence[str] = ()
    steps: Sequence[tuple[str, str]] = ()
    cards: Sequence[Card] = ()
    forms: Sequence[Form] = ()
    pictures: Sequence[Picture] = ()
    cautions: Sequence[str] = ()
    lead: str = ""
    steps_title: str = "Order of work"
    cards_title: str = "What is to be done"
    texts: Mapping[str, str] = field(default_factory=dict)

    @property
    def csvs(self) -> Sequence[Sheet]:
        """What is written as CSV."""
        return self.sheets if self.files is None else self.files


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
    """Write a page into a folder, and CSV files beside it.

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
        The other attributes of `Page`, among them ``files``: what is written as CSV in place of the tables, and
        ``texts``: other files by their names.

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
        for sheet in page.csvs:
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
    tables = [one for sheet in page.sheets if sheet.rows for one in laid(sheet)]
    folder = files("keyaction.plots")
    texts = {
        "page.html": folder.joinpath("onsite/templates/page.html").read_text(encoding="utf-8"),
        "page.css": folder.joinpath("onsite/templates/page.css").read_text(encoding="utf-8"),
        "tables.html": folder.joinpath("report/templates/tables.html").read_text(encoding="utf-8"),
        "report.css": folder.joinpath("report/templates/report.css").read_text(encoding="utf-8"),
    }
    environment = Environment(
        loader=DictLoader(texts),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_without_commands,
    )
    made = environment.get_template("page.html").render(
        page=page,
        tables=tables,
        forms=[form_laid(form) for form in page.forms],
        version=__version__,
        short=_SHORT,
        css_title=css_text(f"{page.title[:90]}, keyaction {__version__}"),
        files=[f"{sheet.name}.csv" for sheet in page.csvs] + list(page.texts),
    )
    return without_unseen(made)


def _without_commands(shown: object) -> object:
    """What is shown without words for the command line, which nobody types at the console."""
    plain = isinstance(shown, str) and not hasattr(shown, "__html__")
    return _COMMANDS.sub("", str(shown)) if plain else shown
