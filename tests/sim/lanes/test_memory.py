"""Works that share a device's memory: smaller parts where there is too little, and waiting for those who have it."""

from concurrent.futures import ThreadPoolExecutor
from threading import Event

import pytest

from keyaction.sim.code.no_gpu import NoGpu
from keyaction.sim.lanes.memory import in_parts, with_memory


def none():
    raise MemoryError


@pytest.mark.parametrize("room", [32, 70, 1000])
def test_a_part_is_halved_until_there_is_room_for_it(room):
    done = []

    def work(part):
        if part.stop - part.start > room:
            none()
        done.append(part)

    in_parts(work, slice(32, 300), 32)
    assert [place for part in done for place in range(part.start, part.stop)] == list(range(32, 300))
    assert all(part.start % 32 == 0 for part in done) and (len(done) == 1) is (room >= 268)


def test_who_alone_finds_none_is_told_so():
    for work in (lambda: with_memory(none), lambda: in_parts(lambda _: none(), slice(0, 300), 32)):
        with pytest.raises(NoGpu, match="too little memory") as caught:
            work()
        assert "\n" not in str(caught.value)


def test_who_finds_none_waits_for_those_who_have_it():
    has, let_go, gone, tried = Event(), Event(), Event(), []

    def other():
        has.set()
        let_go.wait(60)
        gone.set()

    def work():
        tried.append(gone.is_set())
        if not gone.is_set():
            let_go.set()
            none()
        return 7

    with ThreadPoolExecutor(1) as pool:
        busy = pool.submit(with_memory, other)
        has.wait(60)
        assert with_memory(work) == 7
        busy.result()
    assert tried == [False, True]


def test_other_errors_are_let_through():
    with pytest.raises(ZeroDivisionError):
        in_parts(lambda _: 1 // 0, slice(0, 300), 32)
    assert with_memory(lambda: 7) == 7
