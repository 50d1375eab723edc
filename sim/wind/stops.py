"""Stops drawn on the grooves of a train: which there are, and the train with these and no others drawn."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from keyaction.cases.text.near import hint
from keyaction.models.fields.values import Given
from keyaction.models.train.remade import remade
from keyaction.models.train.train import Train, TrainPart

ALL, NONE = "all", "none"
_ORIGIN = "stops drawn for this question"


class StopProblem(ValueError):
    """Stops that cannot be drawn; `defects` lists every one, with the nearest that there is."""

    def __init__(self, defects: Sequence[str]) -> None:
        self.defects = tuple(defects)
        super().__init__("\n".join(self.defects))

    def __reduce__(self) -> tuple[type[StopProblem], tuple[tuple[str, ...]]]:
        return StopProblem, (self.defects,)


class Stop(NamedTuple):
    """A stop of a groove: name, toe opening (m2), whether it is drawn."""

    name: str
    area: float
    drawn: bool


def stops_of(groove: TrainPart) -> list[Stop]:
    """The stops of a groove in the order of its list; none where the case gives the area of all toes instead."""
    values, found = groove.values, list[Stop]()
    if values.has("feet_area"):
        return found
    for i in range(values.count_rows("stops")):
        row = f"stops.{i}"
        name = str(values.given[f"{row}.name"].value) if values.has(f"{row}.name") else f"stop {i + 1}"
        drawn = values.has(f"{row}.drawn") and bool(values.given[f"{row}.drawn"].value)
        found.append(Stop(name, float(values.given[f"{row}.area"].value), drawn))
    return found


def names_of(trains: Iterable[Train]) -> list[str]:
    """The stops of trains, each once, in the order of their lists."""
    found: dict[str, None] = {}
    for train in trains:
        for part in train.parts:
            if part.role == "groove":
                found.update(dict.fromkeys(stop.name for stop in stops_of(part)))
    return list(found)


def read_stops(text: str | Sequence[str], known: Sequence[str]) -> list[str]:
    """The stops that are meant, in the order given: names with commas between, ``all`` or ``none``.

    Raises
    ------
    StopProblem
        With every name that is none of the stops, and the nearest; where there is no list of stops at all.
    """
    if not known:
        raise StopProblem(["stops: these grooves have no list of stops, their toes are given as an area"])
    words = [word.strip() for word in text.split(",")] if isinstance(text, str) else [str(word) for word in text]
    if [word.lower() for word in words] == [ALL]:
        return list(known)
    if words in ([], [""]) or [word.lower() for word in words] == [NONE]:
        return []
    alike = {name.lower(): name for name in known}
    wrong = [f"stops: no stop '{word}'{hint(word, known)}" for word in words if word.lower() not in alike]
    if wrong:
        raise StopProblem(list(dict.fromkeys(wrong)))
    return list(dict.fromkeys(alike[word.lower()] for word in words))


def drawn_on(groove: TrainPart) -> list[str]:
    """Names of the stops of a groove that are drawn."""
    return [stop.name for stop in stops_of(groove) if stop.drawn]


def groove_of(train: Train) -> TrainPart:
    """The groove that the first pallet feeds."""
    at = train.parts.index(train.role("pallet"))
    return next(part for part in train.parts[at:] if part.role == "groove")


def leaving(groove: TrainPart, names: Sequence[str]) -> float:
    """Toes of these stops and leak of a groove, times their flow coefficient, m2."""
    drawn = sum(stop.area for stop in stops_of(groove) if stop.name in names)
    return groove.values.number("feet_flow") * (drawn + groove.values.number("leak"))


def with_stops(train: Train, names: Sequence[str]) -> Train:
    """The train with these stops drawn and no others; a groove without a list is left as it is."""
    changes = {
        part.name: {f"stops.{i}.drawn": Given(one.name in names, _ORIGIN) for i, one in enumerate(stops_of(part))}
        for part in train.parts
        if part.role == "groove" and stops_of(part)
    }
    return remade(train, changes) if changes else train
