"""The whole table: every published observation that the program reproduces, and what it does not reach."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from itertools import groupby

from keyaction.sim.published import (
    air,
    books,
    fits,
    linkages,
    mechanisms,
    note,
    pallet,
    rods,
    seasons,
    springs,
    uncertainty,
    wood,
)
from keyaction.sim.published.observation import TRUST, Near, Observation, Outcome, observe
from keyaction.sim.tables.sheet import Cell, Column, Sheet

FILES = (wood, seasons, air, pallet, books, springs, rods, mechanisms, linkages, note, fits, uncertainty)

NOT_REACHED = (
    "Loss coefficients of trunks and pipes, ISO 5167's speed of approach and expansion: the program has openings only.",
    "Friction that is greater at rest than in motion (LuGre's stick-slip): ours is Coulomb's, with an elastic give.",
    "Wood whose stiffness follows its moisture (Wood Handbook, ch. 5): figures are for 12 %; at 6 % it is some 7 % "
    "stiffer, well within its spread of 22 %.",
    "Flat spiral springs: pallets have V-springs and coils.",
    "Beams held fast at their ends, and bending beyond small angles: guides are pivots here.",
    "Loops in space whose constraints are redundant (the Bricard mechanism): trains are trees of bodies with one "
    "coordinate each.",
    "The four bars with a diagonal spring, their rest and frequencies, of the IFToMM's library of multibody "
    "benchmarks: sizes and figures were not reached.",
    "The pluck of 335 gf under 115 mmH2O (Pykett 2001): the size of that pallet is not published.",
    "Feel curves of real keys: that force was measured against travel is published (E. Asutay, licentiate, Chalmers, "
    "2013; Kowol et al., Appl. Syst. Innov. 7 (2024) 37), but of both only abstracts without figures were reached.",
)
"""What is published and has no counterpart here."""

COLUMNS = (
    Column("quantity", text=True),
    Column("published", text=True),
    Column("ours", text=True),
    Column("difference", text=True),
    Column("allowed", text=True),
)


def observations() -> tuple[Observation, ...]:
    """Every observation, by subject."""
    return tuple(one for file in FILES for one in file.OBSERVATIONS)


def outcomes(rows: Iterable[Observation], told: Callable[[Observation], None] = lambda _: None) -> tuple[Outcome, ...]:
    """Compute ours for each; `told` hears of each before it is computed."""
    found = []
    for one in rows:
        told(one)
        found.append(observe(one))
    return tuple(found)


def source_sheets(found: Sequence[Outcome]) -> list[Sheet]:
    """One small sheet for each source of a subject, in order; its name is the subject, its title the source."""
    sheets = []
    for (subject, source), rows in groupby(found, key=lambda one: (one.of.subject, one.of.source)):
        title = f"{source.cite} [{source.trust}]"
        sheets.append(Sheet(subject, title, COLUMNS, [_shown(one) for one in rows]))
    return sheets


def _shown(one: Outcome) -> list[Cell]:
    figure, unit = one.of.figure, one.of.unit
    published = f"{figure.published()} {unit}".strip()
    if one.reason:
        return [one.of.quantity, published, "none !", "-", figure.allowed()]
    mark = "" if one.holds else " !"
    return [one.of.quantity, published, figure.shown(one.ours), figure.difference(one.ours) + mark, figure.allowed()]


def whole_sheet(found: Sequence[Outcome]) -> Sheet:
    """Everything in one sheet, for a file; the difference as a number where the source gives one figure."""
    words = ("subject", "quantity", "published", "unit", "ours")
    columns = [*(Column(name, text=True) for name in words), Column("difference")]
    columns += [Column(name, text=True) for name in ("allowed", "allowed because", "holds", "source", "trust")]
    rows: list[list[Cell]] = []
    for one in found:
        row, figure = one.of, one.of.figure
        difference = one.ours - figure.value if isinstance(figure, Near) else math.nan
        holds = "yes" if one.holds else f"no: {one.reason}" if one.reason else "no"
        ours = "" if one.reason else f"{one.ours:.10g}"
        rows.append([row.subject, row.quantity, figure.published(15), row.unit or "1", ours, difference,
                     figure.allowed(), figure.why, holds, row.source.cite, row.source.trust])  # fmt: skip
    return Sheet("published", "Published observations and ours", columns, rows)


def summary(found: Sequence[Outcome]) -> list[str]:
    """How many of which trust, and how near; a line each."""
    sources = {one.of.source for one in found}
    lines = [f"{len(found)} observations of {len(sources)} sources; {sum(not one.holds for one in found)} not met."]
    for trust, meaning in TRUST.items():
        own = [one for one in found if one.of.source.trust == trust]
        if own:
            met = sum(one.holds for one in own)
            lines.append(f"{trust} ({meaning}): {met} of {len(own)} met")
    return lines
