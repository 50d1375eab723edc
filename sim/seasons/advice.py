"""What is found when a note is to be adjusted: joints, common places, the window over the year, and what is advised."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from keyaction.models.frame.member import Direction
from keyaction.sim.motion.integrate import Floats

THREAD = 0.4e-3
"""m of way in one turn of a nut: coarse thread M2 (ISO 261, from memory)."""
THREAD_SAID = "coarse thread M2, ISO 261, from memory"
FIGURES = ("margin", "level", "lost_motion", "steady_lift", "pluck_point")
"""What is told of every turn, by the names of `keyaction.sim.seasons.season.LABELS`."""

Kind = Literal["rail", "frame", "member", "levers"]
RailState = Literal["none", "fixed", "stop", "friction", "load"]
"""No rail, one made fast, one driven back to its end stop, one held by its guides, one that its load draws too far."""
First = Literal["nothing", "wait", "common", "nut", "rail", "material"]
NO_GAIN = 1e-3
"""Key travel per way of a place below which moving it does nothing worth while."""


@dataclass(frozen=True)
class Limits:
    """What a note should keep through the year.

    Attributes
    ----------
    keep : float
        Margin at the key before it sounds unplayed, m; assumed.
    balanced, hung : (float, float)
        Least and most play at the key of a balanced key and of a hung one, m; common practice.
    lift : float
        Share of its lift as regulated that a pallet should keep; assumed.
    level : float
        By which a hung key may stand out among its neighbours, m; common practice.
    short : float
        s: no longer than that is a spell short enough to wait for; assumed, two weeks.
    """

    keep: float = 0.2e-3
    balanced: tuple[float, float] = (0.5e-3, 1.5e-3)
    hung: tuple[float, float] = (0.0, 0.3e-3)
    lift: float = 0.9
    level: float = 0.3e-3
    short: float = 14 * 86400.0

    def play(self, balanced: bool) -> tuple[float, float]:
        """Least and most play of a key of that kind, m."""
        return self.balanced if balanced else self.hung


@dataclass(frozen=True)
class Place:
    """What carries axes of many notes, and can be moved or shimmed for all of them at once.

    Attributes
    ----------
    name : str
    kind : {"rail", "frame", "member", "levers"}
        The rail of the case; a member that carries the keys; another member; the common place of a lever's pins.
    towards : str
        The direction in which a move of it counts.
    gains : mapping of int to float
        By note: how much tighter the run is drawn, counted at the key, per way of the place.
    """

    name: str
    kind: Kind
    towards: Direction
    gains: Mapping[int, float]


@dataclass(frozen=True)
class Joint:
    """A rod of the note, and what its nut does.

    Attributes
    ----------
    rod : str
    way : float
        Its way per way of the key front.
    turn : float
        How much looser one turn makes the run, counted at the key, m: pitch over way.
    clears, keeps, year : float
        Turns looser after which the note no longer sounds on that day, keeps its margin on that day, and stands in the
        middle of what the year allows; below 0 it is to be turned tighter. Where no turn serves all year the middle
        leaves as much of one fault as of the other.
    after : mapping of str to float
        `FIGURES` on that day after one turn looser, NaN where there is none.
    pressed : float
        By how much one turn at this very rod puts the pluck later in the slow press, m: `turn`, if the closed form
        holds; NaN where the note cannot be pressed before or after.
    written : bool
        Whether the case writes play at this rod: its nut is where the note is set.
    """

    rod: str
    way: float
    turn: float
    clears: float
    keeps: float
    year: float
    after: Mapping[str, float]
    pressed: float = math.nan
    written: bool = False


@dataclass(frozen=True)
class Window:
    """How much looser (above 0) or tighter a run may be made so that a note is well all year, counted at the key, m.

    Attributes
    ----------
    least : float
        Below it the margin on the tightest day is less than is to be kept.
    most : float
        Above it the note has too much play, or too little lift, on its slackest day.
    by : {"play", "lift", ""}
        What sets `most`; empty where nothing does.
    """

    least: float
    most: float
    by: str

    @property
    def open(self) -> bool:
        """Whether anything serves all year."""
        return self.least <= self.most

    @property
    def middle(self) -> float:
        """What is least bad over the year: as far from one fault as from the other."""
        if math.isinf(self.most):
            return max(self.least, 0.0)
        return (self.least + self.most) / 2 if math.isfinite(self.least) else min(self.most, 0.0)


@dataclass(frozen=True)
class Common:
    """A place that many notes share, as an adjuster.

    Attributes
    ----------
    place : Place
    undoes : float
        Way of the place towards its direction that takes out what all notes have in common on that day, m: least
        squares over the notes.
    year : float
        The same that puts the middle note into the middle of what the year allows, m: median over the notes.
    after : mapping of int to float
        Margin of every note on that day with the place moved by `year`, m.
    outside : tuple of int
        Notes that are then still outside what the year allows: theirs are the single nuts.
    shut : tuple of int
        Notes that no turn serves all year.
    """

    place: Place
    undoes: float
    year: float
    after: Mapping[int, float]
    outside: tuple[int, ...]
    shut: tuple[int, ...]


@dataclass(frozen=True)
class Opposite:
    """The other end of the climate, and what a turn done now does there.

    Attributes
    ----------
    day : int
        The instant at which the run is slackest; tightest where it is to be made tighter.
    now, cleared, year : mapping of str to float
        `FIGURES` there as it is, after the turns that keep the margin on the day asked for, or make the note speak, and
        after those that are least bad over the year; NaN where there is none.
    faults, year_faults : tuple of str
        What is then wrong, in words without figures: "play", "lift", "level", "margin".
    """

    day: int
    now: Mapping[str, float]
    cleared: Mapping[str, float]
    year: Mapping[str, float]
    faults: tuple[str, ...]
    year_faults: tuple[str, ...]


@dataclass(frozen=True)
class Advice:
    """What to do about one note on one day.

    Attributes
    ----------
    division : str
    note : int
    name : str
    day : int
    balanced : bool
    margin : float
        On that day, m at the key; below 0 the note sounds unplayed.
    limits : Limits
    pitch : float
        Of the nuts' thread, m.
    share : float
        Of what the notes have moved on that day, as a sum of squares, what their mean explains.
    lacking, of : int
        Notes with too little margin on that day, of how many.
    alone : bool
        Whether its neighbours have margin enough.
    over_tight, moved : float
        How much less margin it has than the median of its neighbours, m; how much of that the season did.
    joints : tuple of Joint
        The one first whose turn does most.
    commons : tuple of Common
        In the order in which they are to be tried; none where a rail that floats would go after them.
    further : float
        How much further the rail would have to be with its load, for the notes to stand as on the day of regulation, m.
    window : Window
    opposite : Opposite
    returns : float
        s until the margin is enough again by itself; NaN where it does not come back within what is known.
    spell : str
        What the guidance says of that day; empty inside it.
    rail : {"none", "fixed", "stop", "friction", "load"}
        How the rail stands on that day.
    first : {"nothing", "wait", "common", "nut", "rail", "material"}
        What is to be done first.
    otherwise : str
        The same where it cannot wait.
    margins : (D,) array
        At every instant, m at the key.
    mute : bool
        Whether on that day the pressed key does not open its pallet.
    speaks : float
        How much tighter the run is to be drawn for it to speak again, m at the key: until its lift is the share of that
        as regulated that is to be kept; 0 where it is not mute, NaN where nothing that was tried does it.
    mute_on : int
        The first instant at which it is mute; -1 if it never is.
    """

    division: str
    note: int
    name: str
    day: int
    balanced: bool
    margin: float
    limits: Limits
    pitch: float
    share: float
    lacking: int
    of: int
    alone: bool
    over_tight: float
    moved: float
    joints: tuple[Joint, ...]
    commons: tuple[Common, ...]
    further: float
    window: Window
    opposite: Opposite
    returns: float
    spell: str
    rail: RailState
    first: First
    otherwise: First
    margins: Floats
    mute: bool
    speaks: float
    mute_on: int

    @property
    def sounds(self) -> bool:
        """Whether the note sounds unplayed on that day."""
        return self.margin < 0.0

    @property
    def lacks(self) -> float:
        """What its margin wants of what is to be kept, m; 0 if nothing."""
        return max(self.limits.keep - self.margin, 0.0)

    @property
    def looser(self) -> float:
        """How much looser the run is to be made for that day, counted at the key, m; below 0 tighter."""
        return -self.speaks if self.mute else self.lacks

    def today(self, one: Common) -> float:
        """Way of a common place that does for this note what that day asks, m; NaN where it does nothing to it."""
        gain = one.place.gains.get(self.note, 0.0)
        return -self.looser / gain if abs(gain) >= NO_GAIN else math.nan
