"""Fields that tables of a layout share."""

from __future__ import annotations

from keyaction.models.fields.fields import Field


def at(name: str, doc: str, usual: tuple[float, float] = (-3.0, 10.0), **options: object) -> Field:
    """A place along one direction of the instrument, m."""
    given: dict[str, object] = {"varies": False, "source": "places count from there", **options}
    given.setdefault("usual_source", "common practice")
    return Field(name, doc, unit="m", low=-30.0, high=30.0, usual=usual, **given)  # type: ignore[arg-type]


def size(name: str, doc: str, low: float, high: float, usual: tuple[float, float], **options: object) -> Field:
    """A size in m, with what is allowed and what is usual."""
    given: dict[str, object] = {"varies": False, "source": "common practice", **options}
    return Field(name, doc, unit="m", low=low, high=high, usual=usual, **given)  # type: ignore[arg-type]


def word(name: str, doc: str, default: str, *choices: str) -> Field:
    """A word out of `choices`."""
    return Field(
        name, doc, kind="choice", choices=choices, varies=False, default=default, source="the usual arrangement"
    )
