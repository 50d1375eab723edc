"""How soon the bench answers a change, over its socket, everything compiled: against 50 ms, 300 ms and 1.5 s. By hand.

    python tests/benchmarks/bench.py [CASE] [--changes 20] [--note C4]

A client on this machine moves the pallet spring step by step and asks for the feel curve, all figures of the note, and
the whole keyboard, each of a case that was not read before. Shown are the least, the median and the worst of the
changes, the processor's time for one, the median as a share of what is allowed, and how loaded the machine was. The
last rows ask for a feel curve while figures of an older change are under way, and how many of a burst of changes are
computed at all.
"""

import argparse
import json
import os
import statistics
import threading
import time
from pathlib import Path

import httpx

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import one_note
from keyaction.plots.bench.answers import Answers
from keyaction.plots.bench.app import application
from keyaction.plots.bench.guard import Guard
from keyaction.sim.bench.workbench import Workbench
from keyaction.sim.commands.bench import listening_at

ALLOWED = {"feel": 0.050, "figures": 0.300, "whole": 1.5}
"""s from a change to its answer."""


class Bench:
    """A bench that listens in this process, and a client of it that moves a spring."""

    def __init__(self, case, note):
        import uvicorn

        self.case, self.note, self.moved = read_case(case), None, 0
        self.note = one_note(self.case, note)
        spring = next(part for part in self.case.parts if part.part.role == "spring")
        self.spring, self.force = spring.name, float(spring.fields["force"][self.note].value)
        self.socket = listening_at(0)
        guard = Guard(self.socket.getsockname()[1])
        app = application(Answers(Workbench.of(self.case), self.note, Path.cwd()), guard, lambda: None)
        self.server = uvicorn.Server(uvicorn.Config(app, log_config=None, log_level="error", lifespan="on"))
        self.thread = threading.Thread(target=self.server.run, kwargs={"sockets": [self.socket]})
        self.thread.start()
        self.client = httpx.Client(base_url=guard.address, timeout=600, trust_env=False)

    def body(self, page="a"):
        """A change that nobody made before."""
        self.moved += 1
        value = f"{self.force * (1 - self.moved / 5000):.6f} N"
        edits = [{"part": self.spring, "path": "force", "value": value}]
        return {"edits": edits, "note": self.note, "page": page, "turn": self.moved}

    def ask(self, kind, body=None):
        """Seconds on the clock and of the processor until the whole answer is here."""
        clock, used = time.perf_counter(), time.process_time()
        answer = self.client.post(kind, json=body or self.body())
        assert answer.status_code == 200, answer.text
        assert kind != "whole" or "steps" in json.loads(answer.text.splitlines()[-1])
        return time.perf_counter() - clock, time.process_time() - used

    def end(self):
        self.server.should_exit = True
        self.client.close()
        self.thread.join()


def shown(name, took, used, allowed):
    """A line of the table."""
    middle = statistics.median(took)
    print(
        f"{name:34} {len(took):4} {1e3 * min(took):6.0f} {1e3 * middle:9.0f} {1e3 * max(took):9.0f}"
        f" {1e3 * statistics.median(used):9.0f} {1e3 * allowed:9.0f} {middle / allowed:7.2f}"
    )


def beside(bench, changes):
    """Feel curves that are asked for while figures of the change before are computed."""
    took = []
    for _ in range(changes):
        older = threading.Thread(target=bench.ask, args=("figures", bench.body("b")))
        older.start()
        time.sleep(0.02)
        took.append(bench.ask("feel"))
        older.join()
    return took


def burst(bench, changes):
    """Changes 10 ms apart, as a slider sends them: how many are computed, and when the last one is there."""
    found, threads, bodies = [], [], [bench.body("c") for _ in range(changes)]
    for body in bodies:
        threads.append(threading.Thread(target=lambda body=body: found.append(bench.client.post("feel", json=body))))
        threads[-1].start()
        sent = time.perf_counter()
        time.sleep(0.01)
    threads[-1].join()
    last = time.perf_counter() - sent
    for one in threads:
        one.join()
    return sum(one.status_code == 200 for one in found), last


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("case", nargs="?", default="demo-wood")
    parser.add_argument("--note", default="C4")
    parser.add_argument("--changes", type=int, default=20)
    options = parser.parse_args()
    bench = Bench(options.case, options.note)
    try:
        for kind in ALLOWED:
            bench.ask(kind)  # compiles what is not compiled
        load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
        print(f"{options.case} {options.note}, {len(bench.case.compass)} notes{load}")
        heads = f"{'least':>6} {'median ms':>9} {'worst':>9} {'processor':>9} {'allowed':>9} {'ratio':>7}"
        print(f"{'':34} {'asked':>4} {heads}")
        words = {"feel": "feel curve", "figures": "all figures of the note", "whole": "the whole keyboard"}
        for kind, allowed in ALLOWED.items():
            count = options.changes if kind != "whole" else max(3, options.changes // 4)
            took, used = zip(*(bench.ask(kind) for _ in range(count)), strict=True)
            shown(words[kind], took, used, allowed)
        took, used = zip(*beside(bench, options.changes), strict=True)
        shown("feel curve, older figures under way", took, used, ALLOWED["feel"])
        computed, last = burst(bench, 5 * options.changes)
        print(f"burst of {5 * options.changes}: {computed} computed, the last there after {1e3 * last:.0f} ms")
    finally:
        bench.end()


if __name__ == "__main__":
    main()
