"""Writes of several threads as one: each once, each its own fault."""

import threading
from collections.abc import Callable, Sequence

import pytest

from snapgloss.base.errors import StoreBusy, StoreError
from snapgloss.store.together import Together

WAIT_S = 10.0


class Disk:
    """Writes lists of numbers; the first write waits until it is let go. 13 cannot be written."""

    def __init__(self) -> None:
        self.written: list[list[int]] = []
        self.tries: list[list[int]] = []
        self.began, self.may_end = threading.Event(), threading.Event()
        self.is_busy = False

    def write(self, numbers: Sequence[int]) -> None:
        self.tries.append(list(numbers))
        self.began.set()
        assert self.may_end.wait(WAIT_S)
        if self.is_busy and len(self.tries) > 1:
            raise StoreBusy("Held.", "")
        if 13 in numbers:
            raise StoreError("13 cannot be written.", "")
        self.written.append(list(numbers))


def at_once(disk: Disk, numbers: Sequence[int]) -> dict[int, str]:
    """The first number is being written while the others come; the fault of each."""
    together, faults = Together(disk.write), dict[int, str]()

    def do(number: int) -> None:
        try:
            together.do(number)
        except StoreError as fault:
            faults[number] = fault.message

    threads = [threading.Thread(target=do, args=(number,)) for number in numbers]
    threads[0].start()
    assert disk.began.wait(WAIT_S)
    for thread in threads[1:]:
        thread.start()
    until(lambda: len(together._queue) == len(numbers) - 1)
    disk.may_end.set()
    for thread in threads:
        thread.join(WAIT_S)
    return faults


def until(is_so: Callable[[], bool]) -> None:
    """Look until it is so; other threads run meanwhile."""
    look = threading.Event()
    for _ in range(10_000):
        if is_so():
            return
        look.wait(0.001)
    raise AssertionError("it never was")


def test_who_comes_while_one_is_written_goes_with_the_next() -> None:
    """Nine threads, two transactions, each number once."""
    disk = Disk()
    assert at_once(disk, range(9)) == {}
    assert [len(numbers) for numbers in disk.written] == [1, 8]
    assert sorted(n for numbers in disk.written for n in numbers) == list(range(9))


def test_a_fault_is_that_of_the_one_that_brought_it() -> None:
    """The others are written, each once."""
    disk = Disk()
    assert at_once(disk, [1, 2, 13, 4]) == {13: "13 cannot be written."}
    assert sorted(n for numbers in disk.written for n in numbers) == [1, 2, 4]


def test_a_record_that_is_held_is_not_tried_for_each() -> None:
    """Each try waits long; all are told, and may come again."""
    disk = Disk()
    disk.is_busy = True
    assert at_once(disk, [1, 2, 3]) == {2: "Held.", 3: "Held."}
    assert len(disk.tries) == 2


def test_alone_it_is_written_at_once() -> None:
    """And its fault is raised."""
    disk = Disk()
    disk.may_end.set()
    together = Together(disk.write)
    together.do(5)
    with pytest.raises(StoreError):
        together.do(13)
    together.do(6)
    assert disk.written == [[5], [6]]
