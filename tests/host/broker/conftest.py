"""A broker that is none, and who is told."""

import pytest

from snapgloss.base.records import Identity, Reading
from snapgloss.broker.address import broker_of


@pytest.fixture
def broker():
    """Where it would be."""
    return broker_of("mqtt://localhost/shop/one")


@pytest.fixture
def there():
    """A rig that said hello."""
    return Identity("bench/1 +", 77, "0.1.0", 1, 0, "", "off", 55000, 100, -1, -1, -1, -1, True)


@pytest.fixture
def reading():
    """Makes a reading of one second."""

    def make(seq: int, state: str = "working", product_mc: int | None = 31_500) -> Reading:
        return Reading(seq, seq * 1000, state, 5, 31_500, product_mc, None, 21_000, 120, 0, 500, 1)

    return make
