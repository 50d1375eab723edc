"""The layout of a case, if it has one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from keyaction.cases.fields.compass import Compass
from keyaction.cases.fields.context import Context
from keyaction.cases.text.defects import Place

if TYPE_CHECKING:
    from keyaction.cases.action.train import Draft
    from keyaction.cases.layout.drawn import Drawn
    from keyaction.cases.layout.within import Within
    from keyaction.models.instrument.layout import Layout


@dataclass(frozen=True)
class Laid:
    """What comes of a layout.

    Parameters
    ----------
    compass : Compass
        The notes that the keyboard has.
    drawn : Drawn, optional
    layout : Layout, optional
    warnings : tuple of str
        What `check` should say.
    """

    compass: Compass
    drawn: Drawn | None = None
    layout: Layout | None = None
    warnings: tuple[str, ...] = ()


def lay(
    context: Context, place: Place, data: Mapping[str, Any], within: Within | None, drafts: Sequence[Draft]
) -> Laid:
    """Read [layout], lay the action out, and fill the fields that take figures of it.

    Parameters
    ----------
    context : Context
    place : Place
        The case file; takes defects.
    data : mapping
        The whole file.
    within : Within, optional
        What an instrument gives.
    drafts : sequence of Draft
        The parts, after overrides and settings; their fields are filled, and freed of notes that there are not.

    Returns
    -------
    Laid
    """
    if "layout" not in data and within is None and not context.asked:
        return Laid(context.compass)
    from keyaction.cases.action.laying import laid_out  # a case without a layout need not load how one is made

    return laid_out(context, place, data, within, drafts)
