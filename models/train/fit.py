"""Whether parts that meet fit each other: sizes of one that the other has no room for, and senses of motion."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain, pairwise

from keyaction.models.fields.values import Values, Warned, in_unit
from keyaction.models.parts.base import Part
from keyaction.models.parts.geometry import pallet_end

Met = tuple[type[Part], str, Values]
"""A part, its name and its figures."""

_AGAINST = {"down": "up", "up": "down"}


def misfits(parts: Sequence[Met]) -> list[str]:
    """What is impossible between parts that follow one another; what is merely odd goes into their warnings.

    Parameters
    ----------
    parts : sequence of (part, name, values)
        In train order, resolved; fields may be missing.

    Returns
    -------
    list of str
        A sentence for each defect, with part, field, value and what is allowed.
    """
    found: list[str] = []
    for before, after in chain(pairwise(parts), zip(parts, parts[2:], strict=False)):
        if check := _FITS.get((before[0].role, after[0].role)):
            found += [f"{name}, field {told}" for name, told in check(before, after)]
    return found


def _key_and_rod(key: Met, rod: Met) -> Iterator[tuple[str, str]]:
    """The key's end goes one way only, and its first rod with it."""
    if key[2].has("balance"):
        hung = key[2].text("balance") != "balanced"
        goes, does = ("down", "hung") if hung else ("up", "balanced")
        yield from _against(rod, goes, f"the rod at a {does} key goes {goes} when it is played")


def _rod_and_pallet(rod: Met, pallet: Met) -> Iterator[tuple[str, str]]:
    if pallet[2].has("opens"):
        opens = pallet[2].text("opens")
        yield from _against(rod, opens, f"the pallet that it leads to opens {opens}")


def _against(rod: Met, goes: str, why: str) -> Iterator[tuple[str, str]]:
    """A rod said to go up where it can only go down, or the other way round: its weight would act the wrong way.

    What pushes cannot stand there at all; of what pulls the weight alone is wrong, so that is warned of.
    """
    if not (rod[2].has("moves") and rod[2].text("moves") == _AGAINST.get(goes)):
        return
    told = f'moves = "{_AGAINST[goes]}": {why}; allowed: {goes}, or level where guides carry its weight'
    if getattr(rod[0], "pushed", False):
        yield rod[1], told
    else:
        rod[2].warnings.append(Warned(told, f"{rod[1]}, field {told}"))


def _pallet_and_spring(pallet: Met, spring: Met) -> Iterator[tuple[str, str]]:
    """The spring bears on the pallet, about its middle."""
    end, values = pallet_end(pallet[2]), spring[2]
    if end is None or not values.has("at"):
        return
    at = values.number("at")
    if at > end * (1 + 1e-9):
        told = f"the spring bears beyond the free end of the pallet; allowed: up to {in_unit(end, 'm')}"
        yield spring[1], f"at = {in_unit(at, 'm')}: {told}"
    elif values.remarks and at < end / 5:
        values.odd("at", "m", "less than a fifth of the pallet's length from the hinge (common practice: about half)")


def _pallet_and_groove(pallet: Met, groove: Met) -> Iterator[tuple[str, str]]:
    """The opening is one of the groove."""
    if pallet[2].has("opening_length") and groove[2].has("length"):
        opening, length = pallet[2].number("opening_length"), groove[2].number("length")
        if opening > length * (1 + 1e-9):
            told = f"longer than the groove; allowed: up to {in_unit(length, 'm')}"
            yield pallet[1], f"opening_length = {in_unit(opening, 'm')}: {told}"
    if pallet[2].remarks and pallet[2].has("opening_width") and groove[2].has("width"):
        widths = [pallet[2].number("opening_width"), groove[2].number("width")]
        if widths[0] > 1.001 * widths[1]:
            pallet[2].odd("opening_width", "m", "the opening is wider than the groove")


_FITS = {
    ("key", "rod"): _key_and_rod,
    ("rod", "pallet"): _rod_and_pallet,
    ("pallet", "spring"): _pallet_and_spring,
    ("pallet", "groove"): _pallet_and_groove,
}
