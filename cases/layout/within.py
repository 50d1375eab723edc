"""What an instrument gives to the action case of one of its divisions."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from keyaction.models.fields.values import Scalar
from keyaction.models.instrument.keyboard import Keyboard


@dataclass(frozen=True)
class Within:
    """The surroundings in which an action case is read.

    Parameters
    ----------
    instrument : str
        Name of the instrument's file, for messages.
    division : str
    keyboard : Keyboard
        Its notes are all that may be played: those of the case that it lacks are left out, which is told.
    tables : mapping of str to mapping
        Tables under [layout] (``chest``, ``run``, ``board``, ``fan``) that go over the case's own, field by field, as
        TOML gives them.
    materials : mapping of str to mapping
        [materials] tables of the instrument; a case's own of the same name go before.
    settings : tuple of (str, scalar)
        Values for the whole compass, as ``set_`` of `read_case` has them; ``set_`` goes before.
    text : str
        All that the instrument's file says: it belongs to what the case says.
    shares : str
        The division on whose chest its grooves stand: that chest is in `tables`, and the case's own counts for nothing.
    title : str
        Of the instrument.
    historic : mapping of str to Any
        The instrument's [historic] as TOML gives it, where it is of this division; a case's own goes before.
    """

    instrument: str
    division: str
    keyboard: Keyboard
    tables: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    materials: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    settings: tuple[tuple[str, Scalar], ...] = ()
    text: str = ""
    shares: str = ""
    title: str = ""
    historic: Mapping[str, Any] = field(default_factory=dict)

    def told(self) -> str:
        """All of it as JSON, to travel with a result; `within_told` reads it back."""
        return json.dumps(asdict(self), default=str)


def within_told(text: str) -> Within:
    """What `Within.told` wrote.

    Raises
    ------
    ValueError, KeyError, TypeError, AttributeError
        If it is something else.
    """
    data = json.loads(text)
    keyboard = data["keyboard"]
    stands = {int(note): float(stand) for note, stand in keyboard["stands"].items()}
    data["keyboard"] = Keyboard(**{**keyboard, "notes": tuple(keyboard["notes"]), "stands": stands})
    data["settings"] = tuple((str(path), value) for path, value in data["settings"])
    return Within(**data)
