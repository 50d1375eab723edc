"""The bench as a web application for this machine alone.

Everything lies under ``/TOKEN/``. ``GET``: the page (empty path), ``page/NAME``, ``about`` (``?units=si``). ``POST``
with a body as `keyaction.plots.bench.asked` has it: ``fields``, ``feel``, ``figures``, ``whole`` (a line of JSON for
each piece), ``text``, ``save``, ``reread``, ``close``. Refusals have ``said``; 422 is what the case refuses, 409 what
gave way to a newer question, 503 what found too many waiting or the bench closing, 403 what comes from elsewhere.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Awaitable, Callable, Hashable
from contextlib import asynccontextmanager, suppress
from http import HTTPStatus
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from keyaction.plots.bench.answers import Answers, Refused
from keyaction.plots.bench.asked import Asked, Misread, asked
from keyaction.plots.bench.drawn import Plain
from keyaction.plots.bench.guard import HEADERS, LARGEST, Guard
from keyaction.plots.bench.threads import Full, GaveWay, Line
from keyaction.plots.bench.turns import Turns
from keyaction.sim.bench.played import GivenUp

if TYPE_CHECKING:
    from starlette.applications import Starlette
    from starlette.requests import Request
    from starlette.responses import Response

_KINDS = {
    "html": "text/html",
    "css": "text/css",
    "js": "text/javascript",
    "svg": "image/svg+xml",
    "json": "application/json",
    "txt": "text/plain",
}
"""Files of the page."""
_AT_MOST = 0.2
"""s that figures wait, between the pieces of a motion, for a feel curve."""
_FULL = "too many questions wait; ask again"
_Work = Callable[[Asked, Callable[[], None]], Plain]
"""What answers a question; the second is called now and then where it takes long."""


class _Bench:
    """The questions of all pages: those for a feel curve have a thread of their own, so that they never wait long."""

    def __init__(self, answers: Answers, close: Callable[[], None], stopped: Callable[[], bool]) -> None:
        self.answers, self.close, self._closed, self._stopped = answers, close, False, stopped
        self.turns = Turns()
        self.quick, self.slow = (Line(name, lambda: self.closing) for name in ("feel", "figures"))

    @property
    def closing(self) -> bool:
        """Whether the page or Ctrl-C has ended it."""
        return self._closed or self._stopped()

    async def warm(self) -> None:
        """Have all compiled that a page is about to ask for, quickest first."""
        for line, work in ((self.quick, self.answers.warm_feel), *((self.slow, one) for one in self.answers.warm_rest)):
            with suppress(Exception):  # whoever asks for it is told
                await line.run("warm", work, lambda: self.closing)

    def shut(self) -> None:
        """Begin nothing any more, and wait for nothing."""
        self._closed = True

    def end(self) -> None:
        self.shut()
        self.quick.end()
        self.slow.end()


def application(
    answers: Answers, guard: Guard, close: Callable[[], None], stopped: Callable[[], bool] = lambda: False
) -> Application:
    """The application, as ASGI has it.

    Parameters
    ----------
    answers : Answers
    guard : Guard
    close : callable
        Called when a page asks that the bench be closed.
    stopped : callable
        Whether the server is to stop, as at Ctrl-C.
    """
    from starlette.applications import Starlette
    from starlette.routing import Route

    bench = _Bench(answers, close, stopped)

    @asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        warming = asyncio.ensure_future(bench.warm())
        yield
        bench.end()
        warming.cancel()

    here = f"/{guard.token}"
    quick: dict[str, _Work] = {"feel": _plainly(answers.feel), "fields": _plainly(answers.fields)}
    slow: dict[str, _Work] = {
        "figures": answers.figures,
        "text": _plainly(answers.text),
        "save": _plainly(answers.save),
        "reread": _plainly(answers.reread),
    }
    routes = [
        Route(f"{here}/", _page),
        Route(f"{here}/page/{{name}}", _page),
        Route(f"{here}/about", _about(bench)),
        Route(f"{here}/whole", _whole(bench), methods=["POST"]),
        Route(f"{here}/close", _close(bench), methods=["POST"]),
        *(
            Route(f"{here}/{kind}", _answer(bench, kind, line, work), methods=["POST"])
            for line, kinds in ((bench.quick, quick), (bench.slow, slow))
            for kind, work in kinds.items()
        ),
    ]
    handlers: Any = {404: _lost, 405: _lost, Exception: _slipped}
    return _Guarded(Starlette(routes=routes, lifespan=lifespan, exception_handlers=handlers), guard)


class _Guarded:
    """Every request is looked at before anything is done with it, and every answer has the headers."""

    def __init__(self, app: Any, guard: Guard) -> None:
        self._app, self._guard = app, guard

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return

        async def headed(message: Any) -> None:
            if message["type"] == "http.response.start":
                more = [(name.lower().encode(), value.encode()) for name, value in HEADERS.items()]
                message = {**message, "headers": [*message.get("headers", []), *more]}
            await send(message)

        sent = ((name.decode("latin-1").lower(), value.decode("latin-1")) for name, value in scope["headers"])
        told = self._guard.refused(scope["method"], scope["path"], sent)
        if told:
            await _json({"said": told[1]}, told[0])(scope, receive, headed)
        else:
            await self._app(scope, receive, headed)


def _json(answer: Plain, status: HTTPStatus = HTTPStatus.OK) -> Response:
    from starlette.responses import Response

    return Response(_dumped(answer), status, media_type="application/json")


def _dumped(answer: Plain) -> bytes:
    return json.dumps(answer, allow_nan=False, ensure_ascii=False, separators=(",", ":")).encode(
        "utf-8", "backslashreplace"
    )


async def _slipped(*_: Any) -> Response:
    """A slip of the program: the server prints where."""
    answer = _json({"said": "a slip of the program; the terminal says where"}, HTTPStatus.INTERNAL_SERVER_ERROR)
    answer.headers["Connection"] = "close"  # the server ends it after a slip: nobody shall ask on it again
    return answer


async def _lost(_: Request, problem: Exception) -> Response:
    status = HTTPStatus(getattr(problem, "status_code", 404))
    return _json({"said": status.phrase.lower()}, status)


# -- the page ----------------------------------------------------------------------------------------------------
async def _page(request: Request) -> Response:
    from starlette.responses import Response

    name = request.path_params.get("name", "index.html")
    kind = _KINDS.get(name.rpartition(".")[2])
    place = files("keyaction.plots").joinpath("bench/page")
    known = {one.name for one in place.iterdir() if one.is_file()} if place.is_dir() else set()
    if kind is None or name not in known:
        return _json({"said": "no such file"}, HTTPStatus.NOT_FOUND)
    return Response(place.joinpath(name).read_bytes(), media_type=kind)


# -- questions ---------------------------------------------------------------------------------------------------
Handler = Callable[["Request"], Awaitable["Response"]]
Application = Callable[[Any, Any, Any], Awaitable[None]]
"""What a server runs."""


async def _asked(request: Request) -> Asked:
    """The body, read no further than it may be long.

    Raises
    ------
    Misread
    """
    body = bytearray()
    async for piece in request.stream():
        body += piece
        if len(body) > LARGEST:
            raise Misread(f"the body is longer than {LARGEST} bytes")
    return asked(bytes(body))


def _answered(work: Callable[[Request], Awaitable[Response]], closing: Callable[[], bool]) -> Handler:
    """What a question may end with, as a status."""
    from starlette.requests import ClientDisconnect

    async def answer(request: Request) -> Response:
        try:
            return await work(request)
        except Misread as problem:
            told = {"said": str(problem), "part": problem.part, "path": problem.path}
            return _json(told, HTTPStatus.BAD_REQUEST)
        except Refused as problem:
            return _json(problem.answer, HTTPStatus.UNPROCESSABLE_ENTITY)
        except (GaveWay, GivenUp, ClientDisconnect):
            if closing():
                return _json({"said": "the bench is closing"}, HTTPStatus.SERVICE_UNAVAILABLE)
            return _json({"said": "gave way to a newer one"}, HTTPStatus.CONFLICT)
        except Full:
            return _json({"said": _FULL}, HTTPStatus.SERVICE_UNAVAILABLE)

    return answer


def _key(one: Asked, kind: str) -> Hashable:
    """Whose question it is; one of no page is nobody else's."""
    return (one.page, kind) if one.page else object()


def _about(bench: _Bench) -> Handler:
    async def about(request: Request) -> Response:
        units = request.query_params.get("units", "trade")
        return _json(bench.answers.about(asked(json.dumps({"units": units}).encode())))

    return _answered(about, lambda: bench.closing)


@asynccontextmanager
async def _listening(request: Request) -> AsyncIterator[Callable[[], bool]]:
    """Whether the client has gone, once its body is read: nothing is computed for nobody."""
    gone = asyncio.Event()

    async def listen() -> None:
        while (await request.receive())["type"] != "http.disconnect":
            pass
        gone.set()

    listener = asyncio.ensure_future(listen())
    try:
        yield gone.is_set
    finally:
        listener.cancel()


def _plainly(work: Callable[[Asked], Plain]) -> _Work:
    """What is too short to be asked on its way whether it may go on."""
    return lambda asked, _: work(asked)


def _answer(bench: _Bench, kind: str, line: Line, work: _Work) -> Handler:
    """A question that has one answer; where it takes long, a feel curve goes before it wherever it is."""

    async def answer(request: Request) -> Response:
        one = await _asked(request)
        if not bench.turns.asks(one.page, kind, one.turn):
            raise GaveWay

        async with _listening(request) as gone:

            def stale() -> bool:
                return gone() or bench.closing or bench.turns.stale(one.page, kind, one.turn)

            def wait() -> None:
                bench.quick.idle.wait(_AT_MOST)
                if stale():
                    raise GivenUp

            return _json(await line.run(_key(one, kind), lambda: work(one, wait), stale))

    return _answered(answer, lambda: bench.closing)


def _whole(bench: _Bench) -> Handler:
    """The question that is answered piece by piece, each a line."""
    kind = "whole"

    async def whole(request: Request) -> Response:
        from starlette.responses import StreamingResponse

        one, gone = await _asked(request), False
        if not bench.turns.asks(one.page, kind, one.turn):
            raise GaveWay

        listening = _listening(request)
        left = await listening.__aenter__()  # left once the last line is sent

        def stale() -> bool:
            return gone or left() or bench.closing or bench.turns.stale(one.page, kind, one.turn)

        key, pieces = _key(one, kind), bench.answers.whole(one, lambda: not stale())
        try:
            first: Plain | None = await bench.slow.run(key, lambda: next(pieces), stale)
        except BaseException:
            await listening.__aexit__(None, None, None)
            raise

        async def lines() -> AsyncIterator[bytes]:
            nonlocal gone
            try:
                piece = first
                while piece is not None:
                    yield _dumped(piece) + b"\n"
                    piece = await bench.slow.run(key, lambda: next(pieces, None), stale)
            except (GaveWay, GivenUp):
                yield _dumped({"said": "gave way to a newer one"}) + b"\n"
            except Full:
                yield _dumped({"said": _FULL}) + b"\n"
            except Refused as problem:
                yield _dumped(problem.answer) + b"\n"
            finally:
                gone = True
                await listening.__aexit__(None, None, None)

        return StreamingResponse(lines(), media_type="application/x-ndjson")

    return _answered(whole, lambda: bench.closing)


def _close(bench: _Bench) -> Handler:
    async def close(request: Request) -> Response:
        from starlette.background import BackgroundTask

        await _asked(request)
        bench.shut()
        answer = _json({"closed": True})
        answer.background = BackgroundTask(bench.close)
        return answer

    return _answered(close, lambda: bench.closing)
