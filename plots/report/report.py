"""The report: one page that holds everything, for the screen and for A4, with its sheets as CSV beside it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from textwrap import shorten
from typing import TYPE_CHECKING, Any

from jinja2 import DictLoader, Environment, StrictUndefined

from keyaction._version import __version__
from keyaction.cases.action.case import Case
from keyaction.cases.text.assumed import grouped
from keyaction.cases.text.signs import without_unseen
from keyaction.models.units.quantity import System
from keyaction.plots.compare.save import pictures as compared_pictures
from keyaction.plots.report import sheets as report_sheets
from keyaction.plots.report import words as report_words
from keyaction.plots.report.browser import print_pdf
from keyaction.plots.report.case import case_of
from keyaction.plots.report.chord import chord_picture, chord_sheets
from keyaction.plots.report.coupled import coupled_sheets
from keyaction.plots.report.pictures import Picture, drawings_of, pictures_of, png
from keyaction.plots.report.printed import css_text, rows_a_page
from keyaction.plots.report.regulation import Found, found_sheet, found_words, regulation_sheet
from keyaction.plots.report.seasons import (
    season_cautions,
    season_findings,
    season_pictures,
    season_sheets,
    season_sources,
)
from keyaction.sim.compare import sheets as compare_sheets
from keyaction.sim.compare.store import another_case
from keyaction.sim.figures.pallets import drawn, held
from keyaction.sim.files.folders import staged
from keyaction.sim.files.labelled import Result
from keyaction.sim.seasons.as_written import as_written, rail_of
from keyaction.sim.seasons.regulated import regulated_said
from keyaction.sim.tables.sheet import Sheet
from keyaction.sim.weighing.sheet import weigh_sheet
from keyaction.sim.weighing.weighoff import WeighOff

if TYPE_CHECKING:
    from keyaction.sim.chord.chord import Chord
    from keyaction.sim.seasons.season import DivisionSeason

PAGE, PRINTED = "report.html", "report.pdf"
_MOST_COLUMNS = 12
"""Figures side by side in the comparison's table of notes: as many as an A4 page holds."""
_LETTERS, _GAP = 104, 2
"""Letters in a line of a table on A4, and how many the space between two columns stands for."""
_SHORT = 31
"""Rows up to which a table shares its printed page with others."""
_TEMPLATES = ("report.html", "tables.html", "report.css")


@dataclass(frozen=True)
class Report:
    """A report before it is written: the page, and its sheets in the order in which they stand there."""

    html: str
    sheets: tuple[Sheet, ...]


def make_report(
    result: Result,
    comparison: Result | None = None,
    units: System = "trade",
    weighed: Sequence[WeighOff] = (),
    found: Found | None = None,
    struck: Chord | None = None,
    season: DivisionSeason | None = None,
    whole: DivisionSeason | None = None,
) -> Report:
    """Put a report together.

    Parameters
    ----------
    result : Result
        From `keyaction.sim.run.run.run`.
    comparison : Result, optional
        From `keyaction.sim.compare.compare.compare`.
    units : {"trade", "si"}
    weighed : sequence of WeighOff
        Notes that were weighed, from `keyaction.sim.weighing.weighoff.weigh`.
    found : Found, optional
        What was measured, from `keyaction.plots.report.regulation.read_found`.
    struck : Chord, optional
        Notes at once, from `keyaction.chord`.
    season : DivisionSeason, optional
        A year, from `keyaction.sim.seasons.engine.seasons`.
    whole : DivisionSeason, optional
        The same with all notes that hold a rail; by default `season`.

    Returns
    -------
    Report
    """
    from keyaction.plots.save import usual_notes

    case, notes = case_of(result), usual_notes(result)
    middle = notes[len(notes) // 2]
    glance = report_sheets.glance_sheet(result, notes, units)
    springs = report_sheets.springs_sheet(result, case, units)
    figures = report_sheets.figures_sheet(result, units)
    work = [*coupled_sheets(result, units), springs, figures, regulation_sheet(result, units, weighed, found)]
    if found is not None:
        work.append(found_sheet(result, found, units, weighed))
    if weighed:
        work.append(weigh_sheet(weighed, result.naming, units))
    if case is not None:
        work.append(report_sheets.cutting_sheet(result, case, units))
    if struck is not None:
        work += chord_sheets(struck, units, bool(result.about.get("coupled")))
    work += season_sheets(season, units, whole)
    compared = _compared(comparison, units) if comparison is not None else []
    materials = [report_sheets.materials_sheet(case)] if case is not None else []
    pictures = pictures_of(result, notes, middle, units)
    if struck is not None:
        pictures.append(Picture("chord", "Wind under the chord", png(chord_picture(struck, result, units))))
    pictures += season_pictures(season, units)
    drawings = drawings_of(case, int(result["semitone"][result.index(middle)])) if case is not None else []
    context: dict[str, Any] = {
        "title": result.title or "Key action",
        "description": result.about.get("description", ""),
        "facts": _facts(result),
        "css_title": css_text(f"{shorten(result.title, 80, placeholder=' ...')}, keyaction {__version__}"),
        "version": __version__,
        "findings": _on_rail(result, case, units)
        + report_words.findings(result, comparison, units, case, season is not None)
        + season_findings(season, units)
        + _measured(result, found, units, weighed),
        "glance": glance,
        "first_picture": pictures[0],
        "work": work,
        "pictures": pictures[1:],
        "drawings": drawings,
        "comparison": _comparison(result, comparison, units) if comparison is not None else None,
        "compared": [list(sheet.pieces(2, _LETTERS, _GAP)) for sheet in compared[:-1]] + compared[-1:],
        "assumptions": grouped(result.assumptions()),
        "remarks": _remarks(result),
        "materials": materials,
        "definitions": list(report_sheets.definitions(result)),
        "sources": report_words.SOURCES
        + (report_words.COMPARED_SOURCES if comparison is not None else ())
        + season_sources(season),
        "cautions": report_words.CAUTIONS + season_cautions(season),
        "files": [sheet.name for sheet in (glance, *work, *compared, *materials)],
    }
    return Report(_rendered(context), (glance, *work, *compared, *materials))


def _on_rail(result: Result, case: Case | None, units: System) -> list[report_words.Finding]:
    """Which state of notes on a floating rail the page has."""
    if case is None or rail_of(case) is None:
        return []
    notes = [int(note) for note in result["semitone"]]
    told = as_written if result.about.get("coupled") else regulated_said
    return [report_words.Finding(f"{line[0].upper()}{line[1:]}.", True) for line in [told(case, notes, units)] if line]


def write_report(report: Report, folder: Path, browser: str | None = None) -> list[str]:
    """Write a report into a folder: the page and a CSV file for each sheet, and the PDF where there is a browser.

    Parameters
    ----------
    report : Report
    folder : Path
        Made if it is not there; files of the same name are replaced.
    browser : str, optional
        From `keyaction.plots.report.browser.find_browser`.

    Returns
    -------
    list of str
        Names of the files.

    Raises
    ------
    keyaction.sim.files.problem.FileProblem
        When something cannot be written; then nothing is.
    keyaction.plots.report.browser.NotPrinted
        When the browser fails; the page and the sheets are there.
    """
    with staged(folder) as made:
        (made / PAGE).write_text(report.html, encoding="utf-8")
        for sheet in report.sheets:
            (made / f"{sheet.name}.csv").write_text(sheet.csv(), encoding="utf-8")
        names = sorted(path.name for path in made.iterdir())
    if browser:
        with staged(folder) as made:
            print_pdf(folder / PAGE, made / PRINTED, browser)
        names.append(PRINTED)
    return names


def _rendered(context: dict[str, Any]) -> str:
    folder = files("keyaction.plots.report").joinpath("templates")
    texts = {name: folder.joinpath(name).read_text(encoding="utf-8") for name in _TEMPLATES}
    environment = Environment(
        loader=DictLoader(texts), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    page = environment.get_template("report.html").render(context, rows_a_page=rows_a_page, short=_SHORT)
    return without_unseen(page)


def _comparison(result: Result, comparison: Result, units: System) -> dict[str, Any]:
    titles = {
        "feel": "Feel curves laid over each other",
        "compass": "Over the compass",
        "budgets": "What weighs, and what gives way",
    }
    return {
        "title": comparison.title,
        "case": comparison.about.get("case_name", ""),
        "other": another_case(result, comparison),
        "legend": compare_sheets.legend(comparison, units),
        "verdicts": [(compare_sheets.verdict(comparison, one), one.felt) for one in compare_sheets.felt(comparison)],
        "mark": compare_sheets.MARK,
        "guides": compare_sheets.all_advice(comparison, str(comparison["curve_note"][0]), units),
        "rods": compare_sheets.rods_note(comparison) if "rod" in comparison else "",
        "checks": json.loads(comparison.about["checks"]),
        "pictures": [
            Picture(f"compared-{name}", titles[name], png(figure))
            for name, figure in compared_pictures(comparison, units).items()
        ],
    }


def _compared(comparison: Result, units: System) -> list[Sheet]:
    """The sheets of a comparison that a report holds, named so that they do not meet the others."""
    note = str(comparison["curve_note"][0])
    sheets = [compare_sheets.ranges_sheet(comparison, units)]
    if note in comparison.notes:
        sheets.insert(0, compare_sheets.note_sheet(comparison, note, units))
        rods = [str(name) for name in comparison["rod"]] if "rod" in comparison else []
        sheets += [compare_sheets.rod_sheet(comparison, rod, note, units) for rod in rods]
    sheets.append(compare_sheets.brief_sheet(comparison, units, _MOST_COLUMNS))
    return [
        Sheet(f"compared-{sheet.name}".replace("#", "s"), sheet.title, sheet.columns, sheet.rows) for sheet in sheets
    ]


def _facts(result: Result) -> list[tuple[str, str]]:
    versions = json.loads(result.about.get("versions", "{}"))
    settings = [f"{path} = {value}" for path, value in json.loads(result.about.get("case_settings", "[]"))]
    ends = (result.notes[0], result.notes[-1])
    found = [
        ("case", result.about.get("case_name", "")),
        ("notes", f"{len(result.notes)}, {ends[0]} to {ends[1]}"),
        ("couplers drawn", ", ".join(drawn(result))),
        ("held by another hand", ", ".join(held(result))),
        ("computed", result.about.get("made", "").replace("T", " ").replace("+00:00", " UTC")),
        ("program", f"keyaction {versions.get('keyaction', __version__)}"),
        ("set from outside", ", ".join(settings)),
        ("checksum", result.about.get("fingerprint", "")[:16]),
    ]
    return [(name, text) for name, text in found if text]


def _measured(
    result: Result, found: Found | None, units: System, weighed: Sequence[WeighOff]
) -> list[report_words.Finding]:
    words = found_words(result, found, units, weighed) if found is not None else []
    return [report_words.Finding(f"Found against computed: {'; '.join(words)}.")] if words else []


def _remarks(result: Result) -> list[str]:
    """Warnings of the case and of its notes, and why notes failed."""
    found = list(json.loads(result.about.get("warnings", "[]")))
    by_text: dict[str, list[str]] = {}
    for note, warning, status in zip(result.notes, result["warning"], result["status"], strict=True):
        for text in (str(warning), "" if status == "ok" else str(status)):
            if text:
                by_text.setdefault(text, []).append(note)
    return found + [f"{', '.join(notes)}: {text}" for text, notes in by_text.items()]
