"""Which division of an instrument is meant by a keyboard's name or its own."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from keyaction.cases.text.defects import BadValue
from keyaction.cases.text.near import hint


def named(text: str, names: Iterable[str]) -> str | None:
    """The name that is meant, capitals or not; None if there is none."""
    return next((name for name in names if name.lower() == text.strip().lower()), None)


def played_on(text: object, keyboards: Mapping[str, Sequence[str]], divisions: Iterable[str]) -> str:
    """The division that a name means: its own, or that of the keyboard which plays it alone.

    Parameters
    ----------
    text : object
        As TOML gives it.
    keyboards : mapping of str to sequence of str
        The divisions of each keyboard.
    divisions : iterable of str

    Raises
    ------
    BadValue
        If there is none, or more than one could be meant.
    """
    if not isinstance(text, str):
        raise BadValue("the name of a keyboard or a division is needed, in quotes")
    own, keyboard = named(text, divisions), named(text, keyboards)
    if own is None and keyboard is None:
        raise BadValue(f"there is no such keyboard or division{hint(text, [*keyboards, *divisions])}")
    of_it = keyboards[keyboard] if keyboard is not None else []
    if keyboard is None or own in of_it:
        return str(own)
    if own is not None:
        others = ", ".join(map(repr, of_it)) or "none"
        told = f"a division that stands on another keyboard, and a keyboard with the divisions {others}"
        raise BadValue(f"is two things: {told}; name one of these, or give one of the two another name")
    if len(of_it) == 1:
        return of_it[0]
    if not of_it:
        raise BadValue("no division is played on this keyboard")
    raise BadValue(f"has {len(of_it)} divisions; name the one that is meant: {', '.join(of_it)}")
