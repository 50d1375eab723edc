"""Setting values in tables that a TOML text has, in whatever form they are written there."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Mapping

import tomlkit
from tomlkit.container import Container
from tomlkit.items import AbstractTable, AoT, Array, InlineTable, Item, Key, Table

from keyaction.cases.text.written import Names, Written, entry, laid_out, value_at


def set_inside(text: str, values: Mapping[Names, Written]) -> str:
    """The text with values set where their tables stand; a value that has no place there is left out.

    Parameters
    ----------
    text : str
        Sound TOML, lines ending in a line feed.
    values : mapping
        Names of the tables from outside in, and of the key, to the value.
    """
    ended = text if text.endswith("\n") else f"{text}\n"
    blocks = _blocks(ended)
    for names, value in values.items():
        _set_in_one(blocks, names, value)
    edited = "".join(blocks)
    return edited if ended == text else edited.removesuffix("\n")


def _blocks(text: str) -> list[str]:
    """The text cut before every header: of a whole text, the library may move tables that come in pieces."""
    blocks = [""]
    for line in text.removesuffix("\n").split("\n"):
        if line.lstrip(" \t").startswith("[") and _is_whole(blocks[-1]):
            blocks.append("")
        blocks[-1] += f"{line}\n"
    return blocks


def _is_whole(block: str) -> bool:
    """Whether no array and no text over several lines is still open."""
    try:
        tomllib.loads(block)
    except tomllib.TOMLDecodeError:
        return False
    return True


def _set_in_one(blocks: list[str], names: Names, value: Written) -> None:
    """In the first block that takes the value: it is there, or it has the braces or the table that it belongs into."""
    ways: tuple[tuple[Callable[[Container, Names, Written], bool], int], ...] = (
        (_replace, len(names)),
        (_put_into_braces, 1),
        (_put_into_table, len(names) - 1),
    )
    for way, known in ways:
        for i, block in enumerate(blocks):
            if value_at(tomllib.loads(block), names[:known]) is None:
                continue
            document = tomlkit.parse(block)
            if document.as_string() == block and way(document, names, value):
                blocks[i] = document.as_string()
                return


def _places(container: Container, names: Names) -> Iterator[tuple[Container, Key, Item]]:
    """Wherever something stands under these names: what it stands in, its key, and itself."""
    for key, item in container.body:
        if key is None or key.key != names[0]:
            continue
        if len(names) == 1:
            yield container, key, item
        elif isinstance(item, AbstractTable):
            yield from _places(item.value, names[1:])


def _replace(document: Container, names: Names, value: Written) -> bool:
    for container, _, item in _places(document, names):
        if not isinstance(item, Table | AoT):
            container[names[-1]] = tomlkit.value(laid_out(value))
            return True
    return False


def set_cell(text: str, names: Names, row: int, steps: Names, value: Written) -> str | None:
    """The text with one value of one row of a list of tables set; None where the list does not stand there.

    Parameters
    ----------
    text : str
        Sound TOML, lines ending in a line feed.
    names : tuple of str
        Of the list, from outside in.
    row : int
    steps : tuple of str
        Of the value within the row.
    value : str, bool, number, or tables and lists of them
    """
    blocks, before = _blocks(text if text.endswith("\n") else f"{text}\n"), 0
    for i, block in enumerate(blocks):
        document = tomlkit.parse(block)
        for _, _, item in _places(document, names):
            if not isinstance(item, Array | AoT):
                return None
            if before <= row < before + len(item):
                table = _table_at(item[row - before], steps[:-1])
                if table is None or document.as_string() != block:
                    return None
                table[steps[-1]] = tomlkit.value(laid_out(value))
                edited = "".join([*blocks[:i], document.as_string(), *blocks[i + 1 :]])
                return edited if text.endswith("\n") else edited.removesuffix("\n")
            before += len(item)
    return None


def take_out(text: str, names: Names) -> str:
    """The text without a key, in every piece that has it.

    Parameters
    ----------
    text : str
        Sound TOML, lines ending in a line feed.
    names : tuple of str
        Names of the tables from outside in, and of the key.
    """
    ended = text if text.endswith("\n") else f"{text}\n"
    blocks = _blocks(ended)
    for i, block in enumerate(blocks):
        if value_at(tomllib.loads(block), names) is None:
            continue
        document = tomlkit.parse(block)
        if document.as_string() != block:
            continue
        for container, key, _ in list(_places(document, names)):
            container.remove(key)
        blocks[i] = document.as_string()
    edited = "".join(blocks)
    return edited if ended == text else edited.removesuffix("\n")


def _table_at(table: object, steps: Names) -> InlineTable | Table | None:
    """The table within a row; None where there is none, or another thing."""
    for step in steps:
        table = table.get(step) if isinstance(table, InlineTable | Table) else None
    return table if isinstance(table, InlineTable | Table) else None


def _put_into_braces(document: Container, names: Names, value: Written) -> bool:
    """Into the innermost table in braces."""
    for depth in range(len(names) - 1, 0, -1):
        for container, _, item in _places(document, names[:depth]):
            if isinstance(item, InlineTable):
                container[names[depth - 1]] = _with_entry(item, entry(names[depth:], value))
                return True
    return False


def _with_entry(table: InlineTable, line: str) -> Item:
    """A table in braces with one more entry."""
    inner = table.as_string()[1:-1]
    entries = inner.rstrip()
    return tomlkit.value(f"{{{entries}, {line}{inner[len(entries) :]}}}" if entries else f"{{ {line} }}")


def _put_into_table(document: Container, names: Names, value: Written) -> bool:
    """Under the last key of a table that has a header or dotted keys of its own."""
    for _, key, item in _places(document, names[:-1]):
        if isinstance(item, Table) and (key.is_dotted() or not item.is_super_table()):
            _append(item, names[-1], value)
            return True
    return False


def _append(table: Table, name: str, value: Written) -> None:
    """Add a value before the remarks and empty lines that end the table: they belong to what follows."""
    body = table.value.body
    ending: list[tuple[Key | None, Item]] = []
    while body and body[-1][0] is None:
        ending.insert(0, body.pop())
    table.append(name, tomlkit.value(laid_out(value)))
    body.extend(ending)
