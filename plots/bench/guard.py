"""Who may ask the bench: only the page that it served itself, from this machine."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from http import HTTPStatus

LARGEST = 1_000_000
"""Bytes of a body."""
HEADERS: Mapping[str, str] = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
"""What goes with every answer."""


def new_token() -> str:
    """A token of 128 bits."""
    return secrets.token_urlsafe(16)


@dataclass(frozen=True)
class Guard:
    """What is asked of every request.

    Attributes
    ----------
    port : int
        Where the bench listens.
    token : str
    """

    port: int
    token: str = field(default_factory=new_token, repr=False)

    @property
    def hosts(self) -> tuple[str, ...]:
        """What the page may call this machine."""
        return f"127.0.0.1:{self.port}", f"localhost:{self.port}"

    @property
    def address(self) -> str:
        """The page's address."""
        return f"http://{self.hosts[0]}/{self.token}/"

    def refused(self, method: str, path: str, headers: Iterable[tuple[str, str]]) -> tuple[HTTPStatus, str] | None:
        """Why a request is refused, before its body is read; None of one that is let in.

        Parameters
        ----------
        method : str
        path : str
            As it was sent, decoded.
        headers : iterable of (str, str)
            Names in small letters.
        """
        sent = list(headers)
        hosts, origins = ([value for name, value in sent if name == one] for one in ("host", "origin"))
        if len(hosts) != 1 or hosts[0] not in self.hosts:
            return HTTPStatus.FORBIDDEN, "another host"
        if len(origins) > 1 or any(one not in {f"http://{host}" for host in self.hosts} for one in origins):
            return HTTPStatus.FORBIDDEN, "another origin"
        first = path.split("/", 2)[1] if path.startswith("/") else ""
        if not secrets.compare_digest(first.encode("utf-8", "surrogatepass"), self.token.encode()):
            return HTTPStatus.FORBIDDEN, "no such bench"
        if method not in ("GET", "HEAD", "POST"):
            return HTTPStatus.METHOD_NOT_ALLOWED, "GET or POST"
        if method == "POST" and not _is_json(sent):
            return HTTPStatus.BAD_REQUEST, "Content-Type: application/json is needed"
        return None


def _is_json(headers: Iterable[tuple[str, str]]) -> bool:
    kinds = [value for name, value in headers if name == "content-type"]
    return len(kinds) == 1 and kinds[0].partition(";")[0].strip().lower() == "application/json"
