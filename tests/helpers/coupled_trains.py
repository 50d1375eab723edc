"""Trains that couplers join: two, three or more of the demo train's keys, as an instrument would put them together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from demo_train import DEMO, LIBRARY, given

from keyaction.models.train.train import Train, build_train

SHORT = ("key", "pd", "pallet", "spring", "groove", "box")
"""A key that pulls its pallet directly."""
HOOK = {"take_arm": "200 mm", "give_arm": "200 mm"}
STICKER = {"take_arm": "190 mm", "give_arm": "190 mm"}
LEVER = {
    "take_arm": "190 mm",
    "give_arm": "190 mm",
    "in_arm": "80 mm",
    "out_arm": "80 mm",
    "inertia": 2e-5,
    "mass": "12 g",
}
TUMBLER = {**LEVER, "in_arm": "20 mm", "out_arm": "20 mm", "inertia": 1e-6, "mass": "4 g"}
KINDS = {"lever": LEVER, "sticker": STICKER, "hook": HOOK, "tumbler": TUMBLER}
_FIELDS = {name: (kind, fields) for kind, name, fields in DEMO}


def members(
    prefix: str = "", names: Sequence[str] = SHORT, held: float = 0.0, **own: Mapping[str, object]
) -> list[tuple[str, str, Mapping[str, object]]]:
    """Parts of one train; `own` holds further fields of each, with hyphens of names as underscores."""
    found = []
    for name in names:
        kind, fields = _FIELDS[name]
        values = given(kind, {**fields, **own.get(name, {})})
        if kind == "key" and held:
            from keyaction.models.fields.values import Given

            values["held"] = Given(held, "another hand")
        found.append((kind, prefix + name, values))
    return found


def coupler(name: str, kind: str, start: str, end: str, **fields: object) -> tuple[object, ...]:
    """A coupler between two keys."""
    known = given(f"coupler-{kind}", {**KINDS[kind], **fields})
    return (f"coupler-{kind}", name, known, (start, "out"), (end, "out"))


def alone(names: Sequence[str] = SHORT, **own: Mapping[str, object]) -> Train:
    """The played train with no coupler drawn."""
    return build_train(members("", names, **own), LIBRARY)


def pair(kind: str = "hook", names: Sequence[str] = SHORT, held: float = 0.0, own=None, other=None, **fields) -> Train:
    """Two alike, the second driven by the first; `own` and `other` change fields of their parts."""
    parts = [*members("", names, **(own or {})), *members("high-", names, held, **(other or {}))]
    return build_train([*parts, coupler("coupler-ii-i", kind, "key", "high-key", **fields)], LIBRARY)


def three(chain: bool, **fields) -> Train:
    """Three alike: one moves two others, or one the next and that the third."""
    parts = [*members(), *members("high-"), *members("far-")]
    start = "high-key" if chain else "key"
    couplers = [
        coupler("coupler-ii-i", "hook", "key", "high-key", **fields),
        coupler("coupler-iii", "hook", start, "far-key", **fields),
    ]
    return build_train([*parts, *couplers], LIBRARY)


def between(take: tuple[str, str], give: tuple[str, str], names: Sequence[str], **fields: object) -> Train:
    """Two alike, a hook between any two of their bodies: where rods hook on, or at 200 mm of a key."""
    known = {**HOOK, **fields}
    for end, (part, _) in (("take_arm", take), ("give_arm", give)):
        if not part.endswith("key"):
            known.pop(end)
    hook = ("coupler-hook", "coupler-ii-i", given("coupler-hook", known), take, give)
    return build_train([*members("", names), *members("high-", names), hook], LIBRARY)
