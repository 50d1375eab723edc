"""Bodies of requests."""

import json

import pytest

from keyaction.plots.bench.asked import Asked, Misread, asked
from keyaction.sim.bench.edits import Edit


def test_a_whole_body():
    points = {"between": "linear", "C2": "2.7 N", "G6": "1.2 N"}
    edits = [
        {"part": "spring", "path": "force", "value": "2.1 N", "note": 60},
        {"part": "spring", "path": "force", "value": points, "note": None},
        {"part": "drop", "path": "pieces", "value": 3},
        {"part": "drop", "path": "side_motion", "value": True},
        {"part": "box", "path": "humidity", "value": 0.45},
        {"part": "key", "path": "dip", "value": "9 mm", "keep": [62, 60, 62]},
    ]
    body = {"edits": edits, "note": 62, "units": "si", "page": "p", "turn": 7, "name": "new.toml", "more": 1}
    found = asked(json.dumps(body).encode())
    assert found == Asked(
        (
            Edit("spring", "force", "2.1 N", 60),
            Edit("spring", "force", points),
            Edit("drop", "pieces", "3"),
            Edit("drop", "side_motion", "true"),
            Edit("box", "humidity", "0.45"),
            Edit("key", "dip", "9 mm", keep=(60, 62)),
        ),
        62, "prefixed", "p", 7, "new.toml",
    )  # fmt: skip
    assert asked(b"") == asked(b"{}") == Asked()


EDIT = {"part": "a", "path": "b", "value": "1"}


@pytest.mark.parametrize(
    "body",
    [
        b"{", b"[]", b"3", b"\xff", b"[" * 100_000,
        *(
            json.dumps(one).encode()
            for one in (
                {"units": "imperial"}, {"units": ["si"]}, {"units": "prefixed"},
                {"edits": [{**EDIT, "keep": ["C4"]}]},
                {"edits": [{**EDIT, "keep": [60], "note": 60}]}, {"edits": [{**EDIT, "keep": 60}]},
                {"edits": {}}, {"edits": [EDIT] * 4001}, {"edits": [3]}, {"edits": [{}]},
                {"edits": [{**EDIT, "part": ""}]}, {"edits": [{**EDIT, "part": 3}]},
                {"edits": [{"part": "a", "path": "b"}]},
                {"edits": [{**EDIT, "value": []}]}, {"edits": [{**EDIT, "value": {}}]},
                {"edits": [{**EDIT, "value": {"C4": ["1"]}}]}, {"edits": [{**EDIT, "value": "x" * 401}]},
                {"edits": [{**EDIT, "value": "a\u202eb"}]}, {"edits": [{**EDIT, "value": "a\ud800b"}]},
                {"edits": [{**EDIT, "value": {str(i): "1" for i in range(129)}}]},
                {"edits": [{**EDIT, "note": 200}]}, {"edits": [{**EDIT, "note": -5}]},
                {"edits": [{**EDIT, "keep": [200]}]}, {"edits": [{**EDIT, "keep": "60"}]},
                {"edits": [{**EDIT, "note": "C4"}]}, {"note": 1.5}, {"note": True}, {"note": 2**60}, {"turn": "1"},
                {"page": 3}, {"name": ["x"]}, {"name": "x" * 401},
            )
        ),
    ],
)  # fmt: skip
def test_what_is_none(body):
    with pytest.raises(Misread):
        asked(body)
