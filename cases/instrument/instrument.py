"""An instrument that has been read and found sound."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from keyaction.cases.action.case import Case
from keyaction.cases.instrument.coupler import Coupler
from keyaction.models.instrument.keyboard import Keyboard
from keyaction.models.materials.library import Library, default_library
from keyaction.models.notes import Naming


@dataclass(frozen=True)
class Division:
    """What an instrument says of a division beside its action.

    Parameters
    ----------
    keyboard : str
        On which it is played.
    enclosed : bool
        Whether it stands in a box with shutters.
    shares : str
        The division on whose chest its grooves stand; empty where it has a chest of its own.
    """

    keyboard: str
    enclosed: bool = False
    shares: str = ""


@dataclass(frozen=True)
class Instrument:
    """Everything an instrument file says, checked; from `read_instrument`.

    Parameters
    ----------
    path : Path
        The instrument file.
    text : str
        Its text.
    title, description : str
        For people.
    naming : {"scientific", "trade", "german"}
        How notes are written in it and in all its cases.
    keyboards : mapping of str to Keyboard
    divisions : mapping of str to Case
        The action case of each division as it stands in the instrument.
    entries : mapping of str to Division
        What else is said of each division.
    couplers : mapping of str to Coupler
        By their names.
    library : Library
        Materials that couplers are made of, the instrument's own included.
    files : mapping of str to str
        Name to text of the CSV files beside the instrument that its couplers take values from.
    warnings : tuple of str
        A line for every field of a coupler with values outside what the trade uses.

    Examples
    --------
    >>> import keyaction as ka
    >>> from pathlib import Path
    >>> text = '''
    ... format = 1
    ... [instrument]
    ... title = "Two alike"
    ... [[keyboard]]
    ... name = "I"
    ... low = "C2"
    ... high = "G6"
    ... [[division]]
    ... name = "great"
    ... case = "demo-wood"
    ... keyboard = "I"
    ... [[division]]
    ... name = "swell"
    ... case = "demo-wood"
    ... keyboard = "I"
    ... enclosed = true
    ... '''
    >>> _ = Path("two.toml").write_text(text)
    >>> instrument = ka.read_instrument("two.toml")
    >>> list(instrument.divisions), instrument.entries["swell"].enclosed
    (['great', 'swell'], True)
    >>> len(instrument.divisions["great"].compass)
    56
    """

    path: Path
    text: str
    title: str
    description: str
    naming: Naming
    keyboards: Mapping[str, Keyboard]
    divisions: Mapping[str, Case]
    entries: Mapping[str, Division]
    couplers: Mapping[str, Coupler] = field(default_factory=dict)
    library: Library = field(default_factory=default_library)
    files: Mapping[str, str] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()

    def __repr__(self) -> str:
        told = ", ".join(f"{name} ({len(case.compass)} notes)" for name, case in self.divisions.items())
        couplers = f"; couplers {', '.join(self.couplers)}" if self.couplers else ""
        return f"<Instrument '{self.title}': {told}{couplers}>"
