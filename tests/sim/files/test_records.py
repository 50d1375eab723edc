"""Records one behind the other: whole or not there, whatever befalls the file."""

from __future__ import annotations

import errno
import io
import os

import pytest

from keyaction.sim.files import records as module
from keyaction.sim.files.problem import Unreadable
from keyaction.sim.files.records import append, read_body, record_at, records

BODIES = [b"", b"one", os.urandom(3000), b"\x00" * 17]


@pytest.fixture
def path(tmp_path):
    path = tmp_path / "some.records"
    with path.open("ab", buffering=0) as file:
        for k, body in enumerate(BODIES):
            append(file, ({"k": k, "text": "Föhre \udcff"}, body))
    return path


def test_what_was_appended_is_read(path):
    found = list(records(path, bodies=True))
    assert [one.head["k"] for one in found] == [0, 1, 2, 3]
    assert found[0].head["text"] == "Föhre \udcff"
    with path.open("rb") as file:
        assert [read_body(file, one, path, "") for one in found] == BODIES
        assert [record_at(file, one.at) for one in found] == found
        assert record_at(file, 1) is None


def test_a_last_record_cut_short_anywhere_is_not_there_and_the_others_are(path):
    whole, content = list(records(path)), path.read_bytes()
    for end in range(whole[3].at, len(content)):
        path.write_bytes(content[:end])
        assert list(records(path, bodies=True)) == whole[:3]


@pytest.mark.long
def test_any_bit_that_changes_is_seen(path):
    """Also one of a length of the last record, which then points beyond the end: that is no record cut short."""
    whole, content = list(records(path)), bytearray(path.read_bytes())
    for at in range(0, len(content), 3):  # every field of head and body is longer than three bytes
        for bit in (4, 128):
            content[at] ^= bit
            path.write_bytes(content)
            found = list(records(path, bodies=True))
            content[at] ^= bit
            assert None in found, at
            left = [one for one in whole if not one.at <= at < one.at + one.size]
            assert [one for one in found if one is not None] == left


def test_a_length_and_a_head_that_are_both_damaged_are_no_record_cut_short(path):
    whole, content = list(records(path)), bytearray(path.read_bytes())
    last, head = whole[3], whole[3].body[0] - 20
    for spoilt in (bytes(8), b"\xff" * 8, b"zzzzzzzz"):
        damaged = bytearray(content)
        damaged[last.at + len(module.MARK) + 3] = 0x7F  # a head of two thousand million bytes
        damaged[head : head + 8] = spoilt
        path.write_bytes(damaged)
        assert list(records(path)) == [*whole[:3], None]


def test_a_damaged_body_is_refused_with_advice(path):
    found, content = list(records(path)), bytearray(path.read_bytes())
    content[found[2].body[0] + 1500] ^= 1
    path.write_bytes(content)
    assert list(records(path)) == found  # heads alone are sound
    with path.open("rb") as file, pytest.raises(Unreadable, match=r"some\.records: damaged.*do this"):
        read_body(file, found[2], path, "do this")


def test_what_finds_no_room_leaves_the_file_as_it_was(path, monkeypatch):
    before = path.read_bytes()

    class Full(io.FileIO):
        def write(self, data):
            if len(data) < 100:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            return super().write(data[: len(data) // 2])

    with Full(path, "ab") as file, pytest.raises(OSError, match="No space left"):
        append(file, ({}, bytes(5000)))
    assert path.read_bytes() == before

    def broken(_):
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    monkeypatch.setattr(module.os, "fsync", broken)
    with path.open("ab", buffering=0) as file, pytest.raises(OSError, match="Input/output"):
        append(file, ({}, b"more"))
    assert path.read_bytes() == before
