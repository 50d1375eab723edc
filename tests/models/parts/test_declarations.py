"""What a part declares is used: every field is read, and without `rubs` nothing rubs."""

from itertools import product

import pytest
import sympy as sp

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.models.algebra.builder import Builder
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Given, Values
from keyaction.models.materials.library import default_library
from keyaction.models.parts import PARTS
from keyaction.models.train.equations import derive

SHOWN_ONLY = {("groove", "stops.0.name")}
"""Fields that only people read."""
MATERIALS = {"friction": "cloth-on-pin", "material": "sitka-spruce", "arm_material": "sugar-maple"}


class Recording(dict):
    """Values that remember which of them were asked for."""

    def __init__(self, given, asked):
        super().__init__(given)
        self.asked = asked

    def __contains__(self, path):
        self.asked.add(path)
        return super().__contains__(path)

    def __getitem__(self, path):
        self.asked.add(path)
        return super().__getitem__(path)


def flat(fields, prefix=""):
    """Dotted path and field of everything that can be given; of a list its first row."""
    for one in fields:
        if one.kind in ("table", "rows"):
            yield from flat(one.fields, f"{prefix}{one.name}.{'0.' if one.kind == 'rows' else ''}")
        else:
            yield f"{prefix}{one.name}", one


def some(one):
    """Any value that a field may have."""
    if one.kind == "material":
        return MATERIALS.get(one.name, "sitka-spruce")
    if one.kind in ("text", "flag"):
        return "some" if one.kind == "text" else True
    if one.kind == "count":
        return int(max(one.low, 1))
    if one.default is not None:
        return one.default
    low, high = one.usual or (max(one.low, 0.0), min(one.high, 1.0))
    return (low + high) / 2


def ways(one):
    """The values with each of which a part may take another way; a single one of most fields."""
    if one.kind == "choice":
        return one.choices
    return (int(one.low), int(one.low) + 2) if one.kind == "count" else (some(one),)


def unread(part):
    """Fields of a part that it asks for in no way in which it can be given."""
    fields = dict(flat(part.fields))
    tables = {path.split(".")[0] + "." for path in fields if "." in path}
    asked = set()
    for words in product(*map(ways, fields.values())):
        given = {path: Given(word, "test") for path, word in zip(fields, words, strict=True)}
        apart = [(path, path.split(".")[0] + "_") for path in fields if "." in path]  # what goes before one of a table
        for left in (" ", *fields, *tables, *apart):  # with all, and without each field and each table
            kept = {path: one for path, one in given.items() if not path.startswith(left)}
            values = Values("a", Recording(kept, asked), default_library())
            try:
                part.shape(values)
                part.resolve(values)
                part.settle(values, {})
            except (KeyError, ValueError, ZeroDivisionError, AttributeError, TypeError):
                continue  # sizes that do not go together; what was asked for until then counts
    return {path for path in fields if path not in asked}


@pytest.mark.parametrize("kind", PARTS)
def test_every_field_that_is_declared_is_read(kind):
    assert unread(PARTS[kind]) == {path for part, path in SHOWN_ONLY if part == kind}


def test_a_field_that_is_never_read_is_found():
    class Idle(PARTS["square"]):
        fields = (*PARTS["square"].fields, Field("colour", "of the wood", kind="text"))

    assert unread(Idle) == {"colour"}


# -- friction ------------------------------------------------------------------------------------------------
def faces_that_rub(train, monkeypatch):
    """What still rubs in a train whose parts' `rubs` are nothing: the equations that are made of it, in numbers."""
    faces = []
    proper = Builder.dry_friction

    def noted(builder, name, port, capacity, reach, doc):
        faces.append((doc, capacity))
        return proper(builder, name, port, capacity, reach, doc)

    monkeypatch.setattr(Builder, "dry_friction", noted)
    system = derive(train.structure)
    rubs = {part.name: part.part.rubs for part in train.parts}
    known = {one.symbol: 0.0 if one.name.what in rubs.get(one.name.part, ()) else 1.0 for one in system.params}
    known |= {one.symbol: 0.01 for one in system.states}
    for one in system.definitions:
        numbers = {symbol: sp.Float(known.get(symbol, 0.01)) for symbol in one.expr.free_symbols}
        known[one.symbol] = float(one.expr.xreplace(numbers).doit())
    capacities = [(doc, float(sp.sympify(capacity).subs(known))) for doc, capacity in faces]
    assert len(capacities) > 3
    return [doc for doc, capacity in capacities if capacity != 0]


@pytest.mark.parametrize("demo", ["demo-wood", "demo-carbon"])
def test_without_what_a_part_calls_its_rubs_nothing_rubs(demo, monkeypatch):
    assert faces_that_rub(train_of(read_case(demo), 60), monkeypatch) == []


def test_a_part_that_rubs_and_does_not_say_so_is_found(monkeypatch):
    class Silent(PARTS["square"]):
        rubs = ()

    train = train_of(read_case("demo-wood", parts={**PARTS, "square": Silent}), 60)
    assert sorted(faces_that_rub(train, monkeypatch)) == ["pin_lower_square", "pin_upper_square"]
