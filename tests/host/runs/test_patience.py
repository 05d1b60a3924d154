"""A record that another program holds: waited for, told once, and given up in the end."""

import pytest

from snapgloss.base.errors import StoreBusy, StoreError
from snapgloss.runs.patience import AGAIN_S, FREE_AGAIN, HELD, KEPT_S, Patience


class Held:
    """A record that lets go at a time; each try takes the database's own 5 s."""

    def __init__(self, free_at_s: float) -> None:
        self.at_s, self.free_at_s = 100.0, free_at_s
        self.tries = self.written = 0
        self.said: list[str] = []
        self.patience = Patience(lambda: self.at_s, self.let_pass, self.said.append)

    def let_pass(self, for_s: float) -> None:
        """Time goes on."""
        self.at_s += for_s

    def write(self) -> str:
        """Write, or refuse after 5 s."""
        self.tries += 1
        if self.at_s < self.free_at_s:
            self.at_s += 5
            raise StoreBusy("Locked.", "Close the other.")
        self.written += 1
        return "done"


def test_a_try_that_was_refused_is_not_repeated_at_once() -> None:
    """Between two tries the batch goes on for AGAIN_S; what happened is told once each."""
    held = Held(free_at_s=125)
    assert held.patience.try_now(held.write) is False
    assert held.patience.try_now(held.write) is False
    assert held.tries == 1
    held.at_s += AGAIN_S
    assert held.patience.try_now(held.write) is False
    held.at_s += AGAIN_S
    assert held.patience.try_now(held.write) is True
    assert (held.tries, held.written, held.said) == (3, 1, [HELD, FREE_AGAIN])


def test_insisting_waits_until_it_is_written() -> None:
    """What must be written is tried again and again, and its answer comes back."""
    held = Held(free_at_s=125)
    assert held.patience.insist(held.write) == "done"
    assert (held.written, held.said) == (1, [HELD, FREE_AGAIN])
    assert 125 <= held.at_s <= 125 + AGAIN_S


@pytest.mark.parametrize("way", ["insist", "try_now"])
def test_a_record_that_stays_held_is_an_error_in_the_end(way: str) -> None:
    """After KEPT_S the refusal comes out, not before."""
    held = Held(free_at_s=10_000)
    with pytest.raises(StoreBusy, match="Locked"):
        while True:
            getattr(held.patience, way)(held.write)
            held.let_pass(AGAIN_S)
    assert KEPT_S <= held.at_s - 105 <= KEPT_S + AGAIN_S + 5
    assert held.said == [HELD]


def test_any_other_fault_of_the_record_comes_out_at_once() -> None:
    """A full disk is not waited for."""

    def full() -> None:
        raise StoreError("The disk is full.")

    held = Held(0)
    with pytest.raises(StoreError, match="full"):
        held.patience.try_now(full)
    assert (held.said, held.at_s) == ([], 100.0)
