"""Stops that are drawn otherwise than the case says, and parts of a train with other fields."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from keyaction.cases.text.near import hint
from keyaction.models.fields.values import Given
from keyaction.models.train.train import Train, TrainPart, build_train

ALL = "all"
_ORIGIN = "stops drawn for this question"


class StopProblem(ValueError):
    """Stops that cannot be drawn; the message names each, with the nearest that there is."""


def remade(train: Train, changes: Mapping[str, Mapping[str, Given]]) -> Train:
    """The train with other values of some fields, built anew so that all that comes of them follows.

    Parameters
    ----------
    train : Train
    changes : mapping
        Part by name to fields with their values.

    Raises
    ------
    keyaction.TrainProblem
        When a part cannot be so.
    """
    parts = [
        (part.part, part.name, {**part.values.given, **changes.get(part.name, {})}, member.after, member.to)
        for part, member in zip(train.parts, train.structure, strict=True)
    ]
    libraries = {part.name: part.values.library for part in train.parts}
    return build_train(parts, train.parts[0].values.library, libraries)


def listed(stops: str | Sequence[str] | None) -> list[str]:
    """Names of stops, from a text with commas between as well."""
    names = stops.split(",") if isinstance(stops, str) else stops or []
    return [name.strip() for name in names if name.strip()]


def stop_names(train: Train) -> list[str]:
    """Names of the stops on the note's groove, in the order of the case; none where it gives a toe area alone."""
    values = train.role("groove").values
    if values.has("feet_area"):
        return []
    return [str(values.given[f"stops.{i}.name"].value) for i in range(values.count_rows("stops"))]


def check_stops(train: Train, wanted: Sequence[str] | None, case: str) -> None:
    """Complain about stops that are not on a groove.

    Parameters
    ----------
    train : Train
        Of any note.
    wanted : sequence of str, optional
        Names; `ALL` alone is every stop.
    case : str
        Name of the case's file.

    Raises
    ------
    StopProblem
    """
    if not wanted:
        return
    names, groove = stop_names(train), train.role("groove").name
    if not names:
        raise StopProblem(
            f"{case}: [[train]] {groove} has no list of stops, but the toe area of all together; leave the stops out, "
            "or give it a field 'stops'"
        )
    known = {name.lower() for name in (*names, ALL)}
    wrong = [name for name in wanted if name.lower() not in known]
    if wrong:
        raise StopProblem(
            "\n".join(f"{case}: [[train]] {groove} has no stop '{one}'{hint(one, [*names, ALL])}" for one in wrong)
        )


def with_stops(train: Train, wanted: Sequence[str] | None) -> Train:
    """The train with these stops drawn and no others; as the case draws them where none is named.

    Parameters
    ----------
    train : Train
    wanted : sequence of str, optional
        As `check_stops` took them.
    """
    if not wanted:
        return train
    names, low = stop_names(train), {one.lower() for one in wanted}
    drawn = {f"stops.{i}.drawn": Given(ALL in low or name.lower() in low, _ORIGIN) for i, name in enumerate(names)}
    return remade(train, {train.role("groove").name: drawn})


def drawn_names(train: Train) -> list[str]:
    """Names of the stops that are drawn."""
    values = train.role("groove").values
    flags = (values.given.get(f"stops.{i}.drawn") for i in range(values.count_rows("stops")))
    return [name for name, flag in zip(stop_names(train), flags, strict=False) if flag and flag.value]


def groove_of(train: Train) -> TrainPart:
    """The groove that the first pallet feeds."""
    at = train.parts.index(train.role("pallet"))
    return next(part for part in train.parts[at:] if part.role == "groove")
