"""The bench over a socket: what is served, refused, given way, and how it ends."""

import asyncio
import json
import socket
import threading
import time

import httpx
import pytest
import uvicorn
from patience import HANG
from short_case import QUICK, write_case

from keyaction.plots.bench.answers import Answers
from keyaction.plots.bench.app import application
from keyaction.plots.bench.guard import LARGEST, Guard
from keyaction.plots.bench.threads import Full, GaveWay, Line
from keyaction.sim.bench.workbench import Workbench

SPRING = {"part": "pallet-spring", "path": "force", "value": "2.6 N"}


class Slow(Answers):
    """Answers a feel curve only when it may; `begun` are the turns that were begun."""

    def __init__(self, *given):
        super().__init__(*given)
        self.may, self.begun, self.hold = threading.Event(), [], False

    def feel(self, asked):
        self.begun.append((asked.page, asked.turn))
        if self.hold:
            assert self.may.wait(HANG)
        return super().feel(asked)


class Served:
    """A bench that listens, with clients for it."""

    def __init__(self, answers):
        self.answers, self.listening = answers, socket.create_server(("127.0.0.1", 0))
        self.guard = Guard(self.listening.getsockname()[1])
        made = application(answers, self.guard, self.close, lambda: self.server.should_exit)
        config = uvicorn.Config(
            made, log_config=None, log_level="error", lifespan="on",
            timeout_graceful_shutdown=5, timeout_keep_alive=900,
        )  # fmt: skip
        self.server = uvicorn.Server(config)
        self.thread = threading.Thread(target=self.server.run, kwargs={"sockets": [self.listening]})
        self.thread.start()
        self.client = httpx.Client(base_url=self.guard.address, timeout=HANG, trust_env=False)

    def close(self):
        self.server.should_exit = True

    def end(self):
        self.client.close()
        self.close()
        self.thread.join(HANG)
        assert not self.thread.is_alive()

    def post(self, kind, **body):
        return self.client.post(kind, json=body)


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    folder = tmp_path_factory.mktemp("served")
    found = Served(Slow(Workbench.opened(write_case(folder, more=QUICK)), 62, folder))
    yield found
    found.answers.may.set()
    found.end()


def test_the_page_and_its_files(served):
    page = served.client.get("")
    assert page.status_code == 200 and page.headers["content-type"].startswith("text/html")
    assert page.headers["x-content-type-options"] == "nosniff" and page.headers["cache-control"] == "no-store"
    assert "default-src 'none'" in page.headers["content-security-policy"]
    assert "access-control-allow-origin" not in page.headers and "set-cookie" not in page.headers
    assert served.client.get("page/index.html").content == page.content
    assert served.client.head("").status_code == 200


@pytest.mark.parametrize(
    "path", ["page/none.js", "page/__init__.py", "page/../app.py", "page/%2e%2e%2fapp.py", "page/..%5capp.py",
             "page//etc/passwd", "page/", "nothing", "page/index.html%00.css"],
)  # fmt: skip
def test_no_other_file_is_served(served, path):
    with socket.create_connection(("127.0.0.1", served.guard.port)) as raw:  # a client would tidy the path
        request = (
            f"GET /{served.guard.token}/{path} HTTP/1.1\r\nHost: {served.guard.hosts[0]}\r\nConnection: close\r\n\r\n"
        )
        raw.sendall(request.encode())
        answer = b"".join(iter(lambda: raw.recv(65536), b""))
    assert answer.split()[1] == b"404" and b"nosniff" in answer and b"import" not in answer


def test_who_comes_from_elsewhere_is_refused(served):
    other = {"Origin": "http://127.0.0.1:1"}, {"Host": "bench.example"}, {"Origin": "null"}
    for headers in other:
        answer = served.client.post("feel", json={}, headers=headers)
        assert (answer.status_code, set(answer.json())) == (403, {"said"})
        assert "nosniff" in answer.headers["x-content-type-options"]
    assert httpx.get(f"http://127.0.0.1:{served.guard.port}/", trust_env=False).status_code == 403
    assert httpx.get(served.guard.address[:-2] + "/about", trust_env=False).status_code == 403
    assert served.client.get("feel").status_code == 405
    assert served.client.options("feel").status_code == 405


def test_bodies_that_are_none(served):
    large = b'{"page": "' + b"x" * LARGEST + b'"}'
    for body in (b"{", b"[]", large, b'{"edits": [{"part": "key"}]}'):
        answer = served.client.post("feel", content=body, headers={"Content-Type": "application/json"})
        assert answer.status_code == 400 and answer.json()["said"]
    long = served.post("feel", edits=[{**SPRING, "value": "9" * 401}])
    assert long.status_code == 400
    assert long.json() == {
        "said": "edits: a value is a text of at most 400 signs",
        "part": "pallet-spring",
        "path": "force",
    }
    assert served.client.post("feel", content=b"{}").status_code == 400
    assert served.client.get("about?units=inch").status_code == 400


def test_every_question_has_its_answer(served):
    body = {"edits": [SPRING], "note": 62, "units": "trade"}
    assert served.client.get("about").json()["note"] == 62
    for kind, has in (("feel", "down"), ("fields", "parts"), ("figures", "figures"), ("text", "difference")):
        answer = served.post(kind, **body)
        assert (answer.status_code, has in answer.json(), "stamp" in answer.json()) == (200, True, True)
    assert served.post("reread").json()["file"] == "short.toml"
    lines = [json.loads(line) for line in served.post("whole", **body).text.splitlines()]
    assert [note for one in lines[:-1] for note in one["notes"]] == list(range(60, 68)) and "steps" in lines[-1]
    saved = served.post("save", **body, name="lighter")
    assert saved.json()["saved"] == "lighter.toml" and served.post("save", **body, name="lighter").status_code == 422
    refused = served.post("feel", edits=[{**SPRING, "value": "-1 N"}])
    assert refused.status_code == 422 and refused.json()["defects"][0]["part"] == "pallet-spring"
    assert served.post("whole", edits=[{**SPRING, "value": "-1 N"}]).status_code == 422


def test_of_a_flood_the_first_and_the_newest_are_answered(served):
    """One is under way, forty come after it: of these only the newest is computed; another page is not disturbed."""
    answers = served.answers
    answers.begun.clear()
    answers.hold = True
    found = {}

    def ask(page, turn):
        edits = [{**SPRING, "value": f"{2 + turn / 1000} N"}]
        with httpx.Client(base_url=served.guard.address, timeout=HANG, trust_env=False) as client:
            found[page, turn] = client.post("feel", json={"edits": edits, "page": page, "turn": turn}).status_code

    threads = [threading.Thread(target=ask, args=("a", 0))]
    threads[0].start()
    wait(lambda: answers.begun)
    for page, turn in [("b", 1), *(("a", turn) for turn in range(1, 41))]:
        threads.append(threading.Thread(target=ask, args=(page, turn)))
        threads[-1].start()
    wait(lambda: len(found) == 39)  # all of them gave way without waiting for the thread
    answers.hold = False
    answers.may.set()
    for one in threads:
        one.join(HANG)
    assert {pair for pair, status in found.items() if status == 200} == {("a", 0), ("a", 40), ("b", 1)}
    assert set(found.values()) == {200, 409}
    assert sorted(answers.begun) == [("a", 0), ("a", 40), ("b", 1)]
    answers.may.clear()


def wait(what):
    end = time.monotonic() + HANG
    while not what():
        assert time.monotonic() < end
        time.sleep(0.002)


def test_a_client_that_goes_leaves_the_bench_as_it_was(served):
    for kind in ("whole", "figures"):
        body = json.dumps({"edits": [SPRING]})
        with socket.create_connection(("127.0.0.1", served.guard.port)) as raw:
            head = f"POST /{served.guard.token}/{kind} HTTP/1.1\r\nHost: {served.guard.hosts[0]}\r\n"
            raw.sendall(f"{head}Content-Type: application/json\r\nContent-Length: {len(body)}\r\n\r\n{body}".encode())
        with socket.create_connection(("127.0.0.1", served.guard.port)) as raw:
            raw.sendall(f"{head}Content-Type: application/json\r\nContent-Length: 99\r\n\r\n{{".encode())
    assert served.post("feel", edits=[SPRING]).status_code == 200


def test_questions_of_clients_that_are_gone_are_not_begun(served):
    answers = served.answers
    answers.hold, answers.may = True, threading.Event()
    answers.begun.clear()
    holding = threading.Thread(target=lambda: served.post("feel", edits=[SPRING], page="holds", turn=1))
    holding.start()
    wait(lambda: answers.begun)
    gone = []
    for i in range(10):
        body = json.dumps({"edits": [SPRING], "page": f"gone-{i}", "turn": 1})
        raw = socket.create_connection(("127.0.0.1", served.guard.port))
        head = f"POST /{served.guard.token}/feel HTTP/1.1\r\nHost: {served.guard.hosts[0]}\r\n"
        raw.sendall(f"{head}Content-Type: application/json\r\nContent-Length: {len(body)}\r\n\r\n{body}".encode())
        gone.append(raw)
    time.sleep(0.2)  # they wait behind the one that holds the thread
    for raw in gone:
        raw.close()
    time.sleep(0.2)
    answers.hold = False
    answers.may.set()
    holding.join(HANG)
    with httpx.Client(base_url=served.guard.address, timeout=HANG, trust_env=False) as client:
        assert client.post("feel", json={"edits": [SPRING], "page": "stays", "turn": 1}).status_code == 200
    assert answers.begun == [("holds", 1), ("stays", 1)]


def test_a_slip_of_the_program_is_told_and_survived(served, monkeypatch):
    monkeypatch.setattr(Workbench, "stood", lambda *_: 1 / 0)
    answer = served.post("feel", edits=[SPRING])
    assert answer.status_code == 500 and "slip" in answer.json()["said"] and "nosniff" in str(answer.headers)
    monkeypatch.undo()
    assert served.post("feel", edits=[SPRING]).status_code == 200


def test_closed_by_the_page(tmp_path):
    own = Served(Answers(Workbench.opened(write_case(tmp_path, more=QUICK)), None, tmp_path))
    assert own.post("close").json() == {"closed": True}
    own.thread.join(HANG)
    assert not own.thread.is_alive()
    with pytest.raises(httpx.ConnectError):
        own.client.get("about")
    own.client.close()


def test_questions_of_no_page_do_not_give_way_to_each_other(served):
    found = []

    def ask(i):
        with httpx.Client(base_url=served.guard.address, timeout=HANG, trust_env=False) as client:
            edits = [{**SPRING, "value": f"{2 + i % 3 / 10} N"}]
            found.append(client.post("feel", json={"edits": edits}).status_code)

    served.answers.hold, served.answers.may = True, threading.Event()
    threads = [threading.Thread(target=ask, args=(i,)) for i in range(100)]
    for one in threads:
        one.start()
    served.answers.may.set()
    for one in threads:
        one.join(HANG)
    served.answers.hold = False
    assert found == [200] * 100


def test_work_that_never_ends_is_not_waited_for_when_the_bench_closes(tmp_path):
    answers = Slow(Workbench.opened(write_case(tmp_path, more=QUICK)), None, tmp_path)
    own, found = Served(answers), []
    answers.hold = True
    with httpx.Client(base_url=own.guard.address, timeout=HANG, trust_env=False) as client:
        asking = threading.Thread(target=lambda: found.append(client.post("feel", json={})))
        answers.begun.clear()
        asking.start()
        wait(lambda: ("", 0) in answers.begun)
        began = time.monotonic()
        own.close()  # as Ctrl-C does
        own.thread.join(HANG)
        asking.join(HANG)
    assert not own.thread.is_alive() and time.monotonic() - began < 4
    assert (found[0].status_code, found[0].json()) == (503, {"said": "the bench is closing"})
    answers.may.set()
    own.client.close()


def test_a_line_that_is_full_says_so_and_one_that_ended_begins_nothing(monkeypatch):
    monkeypatch.setattr("keyaction.plots.bench.threads._WAITING", 64)
    begun, may = [], threading.Event()

    def work(number):
        begun.append(number)
        return may.wait(HANG)

    async def play():
        line = Line("test")
        first = asyncio.ensure_future(line.run("first", lambda: work(0), lambda: False))
        while not begun:
            await asyncio.sleep(0.001)
        waiting = [asyncio.ensure_future(line.run(i, lambda i=i: work(i), lambda: False)) for i in range(1, 66)]
        await asyncio.sleep(0.01)
        told = [one for one in waiting if one.done()]
        waiting[0].cancel()
        line.end()
        may.set()
        rest = await asyncio.gather(*waiting, return_exceptions=True)
        return await first, told, rest

    try:
        first, told, rest = asyncio.run(play())
    finally:
        may.set()
    assert first and begun == [0]
    assert told == [waiting for waiting in told if isinstance(waiting.exception(), Full)] and len(told) == 1
    assert {type(one) for one in rest} == {Full, GaveWay, asyncio.CancelledError}
