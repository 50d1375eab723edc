"""Who may ask the bench."""

import pytest

from keyaction.plots.bench.guard import HEADERS, Guard, new_token
from keyaction.plots.bench.turns import Turns

GUARD = Guard(8765, "token")
HOST = ("host", "127.0.0.1:8765")
JSON = ("content-type", "application/json")


@pytest.mark.parametrize(
    ("method", "path", "headers"),
    [
        ("GET", "/token/", [HOST]),
        ("GET", "/token/about", [("host", "localhost:8765")]),
        ("POST", "/token/feel", [HOST, JSON]),
        ("POST", "/token/feel", [HOST, ("content-type", "application/json; charset=utf-8")]),
        ("POST", "/token/feel", [HOST, JSON, ("origin", "http://127.0.0.1:8765")]),
        ("POST", "/token/feel", [HOST, JSON, ("origin", "http://localhost:8765")]),
    ],
)
def test_the_page_itself_is_let_in(method, path, headers):
    assert GUARD.refused(method, path, headers) is None


@pytest.mark.parametrize(
    ("method", "path", "headers", "status"),
    [
        ("GET", "/token/", [], 403),
        ("GET", "/token/", [HOST, HOST], 403),
        ("GET", "/token/", [("host", "127.0.0.1")], 403),
        ("GET", "/token/", [("host", "127.0.0.1:80")], 403),
        ("GET", "/token/", [("host", "rebound.example:8765")], 403),
        ("GET", "/token/", [("host", "127.0.0.1:8765.rebound.example")], 403),
        ("GET", "/", [HOST], 403),
        ("GET", "", [HOST], 403),
        ("GET", "/other/", [HOST], 403),
        ("GET", "/toke", [HOST], 403),
        ("GET", "/tokens/", [HOST], 403),
        ("GET", "//token/", [HOST], 403),
        ("GET", "/tök\udc80/", [HOST], 403),
        ("POST", "/token/feel", [HOST, JSON, ("origin", "https://127.0.0.1:8765")], 403),
        ("POST", "/token/feel", [HOST, JSON, ("origin", "http://127.0.0.1:8766")], 403),
        ("POST", "/token/feel", [HOST, JSON, ("origin", "null")], 403),
        ("POST", "/token/feel", [HOST, JSON, ("origin", "http://other.example")], 403),
        ("POST", "/token/feel", [HOST, JSON, *[("origin", "http://127.0.0.1:8765")] * 2], 403),
        ("POST", "/token/feel", [HOST], 400),
        ("POST", "/token/feel", [HOST, ("content-type", "text/plain")], 400),
        ("POST", "/token/feel", [HOST, ("content-type", "application/x-www-form-urlencoded")], 400),
        ("OPTIONS", "/token/feel", [HOST], 405),
        ("DELETE", "/token/feel", [HOST], 405),
    ],
)
def test_all_else_is_refused(method, path, headers, status):
    assert GUARD.refused(method, path, headers)[0] == status


def test_tokens_are_long_and_never_twice_the_same():
    found = {new_token() for _ in range(100)}
    assert len(found) == 100 and min(map(len, found)) >= 22  # 128 bits in letters of 6
    assert GUARD.address == "http://127.0.0.1:8765/token/" and "token" not in repr(GUARD)


def test_the_policy_lets_nothing_in_from_outside():
    policy = HEADERS["Content-Security-Policy"]
    assert "default-src 'none'" in policy and "unsafe" not in policy and "http" not in policy


def test_newer_turns_of_the_same_page_and_kind_go_before():
    turns = Turns()
    assert turns.asks("a", "feel", 1) and turns.asks("a", "feel", 3)
    assert not turns.asks("a", "feel", 2)
    assert turns.stale("a", "feel", 2) and not turns.stale("a", "feel", 3)
    assert not turns.stale("a", "figures", 1) and not turns.stale("b", "feel", 1)
    assert turns.asks("b", "feel", 1) and turns.asks("", "feel", 0) and not turns.stale("", "feel", 0)
    for page in range(1000):
        turns.asks(str(page), "feel", 1)
    assert turns.asks("a", "feel", 1)  # forgotten
