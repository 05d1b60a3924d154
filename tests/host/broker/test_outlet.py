"""The way out to a broker, with clients that behave and others that do not."""

import threading
import time

import pytest

from snapgloss.base.errors import InputError
from snapgloss.broker import outlet as outlets
from snapgloss.broker.address import Broker
from snapgloss.broker.messages import Message, reading_message
from snapgloss.broker.outbox import Outbox
from snapgloss.broker.outlet import IN_FLIGHT, Outlet, made

from .client_double import BAD, ClientDouble, DiesAfter, Hanging, Refusing, Slow, Unreachable

LONG_S = 20.0


def until(is_so) -> None:
    """Wait for another thread; a test that waits long has found a hang."""
    end_s = time.monotonic() + LONG_S
    while not is_so():
        assert time.monotonic() < end_s
        threading.Event().wait(0.001)


@pytest.fixture
def said():
    """What a person was told."""
    return []


def test_all_arrives_in_order_between_two_kept_words(broker, there, reading, said):
    """The host says that it is there, then what rigs say, then goodbye, which is also its will."""
    client = ClientDouble()
    with Outlet(broker, "laptop", said.append, client.make) as outlet:
        told = [reading_message(broker.prefix, there, reading(seq)) for seq in range(100)]
        for message in told:
            outlet.put(message)
    first, *middle, last = client.published
    assert first == ("shop/one/hosts/laptop", b'{"format":1,"is_there":true}', 1, True)
    assert last == ("shop/one/hosts/laptop", b'{"format":1,"is_there":false}', 1, True)
    assert client.will == Message(last[0], last[1], True)
    assert middle == [(m.topic, m.payload, 1, False) for m in told]
    assert (said, outlet.dropped, client.is_ended) == ([], 0, True)


@pytest.mark.parametrize("kind", BAD)
def test_a_bad_broker_bounds_what_waits_and_ends(broker, there, reading, said, kind, monkeypatch):
    """Whatever it does: putting returns, at most so many wait, the rest is counted, and leaving
    ends."""
    monkeypatch.setattr(outlets, "END_WITHIN_S", 0.05)
    client = kind()
    with Outlet(broker, "laptop", said.append, client.make, Outbox(50)) as outlet:
        for seq in range(1000):
            outlet.put(reading_message(broker.prefix, there, reading(seq)))
        assert len(outlet._outbox) <= 50 + 1
    assert outlet.dropped >= 1000 - 50 - IN_FLIGHT - 30 - 1
    assert said[-1].startswith("The broker mqtt://localhost:1883 did not get")
    assert f"{outlet.dropped} dropped" in said[-1]


@pytest.mark.parametrize(
    ("kind", "words"),
    [(Unreachable, "does not answer"), (Refusing, "refuses: not authorized")],
)
def test_why_it_is_away_is_said_once(broker, said, kind, words):
    """However often it is tried; and that the batch is recorded."""
    client = kind()
    with Outlet(broker, "laptop", said.append, client.make):
        until(lambda: said)
        client.connect_async("", 0, 0)
    assert said[0] == (
        f"The broker mqtt://localhost:1883 {words}. The batch is recorded all the same."
    )
    assert len([line for line in said if "recorded all the same" in line]) == 1


def test_a_slow_one_has_so_many_under_way(broker, there, reading, said, monkeypatch):
    """No more than IN_FLIGHT go out before the first is acknowledged; each acknowledgement lets
    one more out."""
    monkeypatch.setattr(outlets, "END_WITHIN_S", 0.05)
    client = Slow()
    with Outlet(broker, "laptop", said.append, client.make) as outlet:
        for seq in range(100):
            outlet.put(reading_message(broker.prefix, there, reading(seq)))
        until(lambda: len(client.published) == IN_FLIGHT)
        client.on_publish(client, None, 1, None, None)
        until(lambda: len(client.published) == IN_FLIGHT + 1)


def test_one_that_comes_back_gets_the_rest(broker, there, reading, said):
    """What waited is sent, what was dropped meanwhile is said."""
    client = DiesAfter(10)
    with Outlet(broker, "laptop", said.append, client.make, Outbox(40)) as outlet:
        for seq in range(11):
            outlet.put(reading_message(broker.prefix, there, reading(seq)))
        until(lambda: said)
        for seq in range(11, 61):
            outlet.put(reading_message(broker.prefix, there, reading(seq)))
        outlet._under_way = 0  # what was under way when it went
        client.accept()
        until(lambda: not len(outlet._outbox))
    assert outlet.dropped > 0
    assert said[0].startswith("The broker mqtt://localhost:1883 is gone.")
    assert said[1] == (
        "The broker mqtt://localhost:1883 is told again; "
        f"{outlet.dropped} of the oldest messages were dropped."
    )
    assert b'"seq":60' in client.published[-2][1]


def test_putting_never_waits_for_a_client_that_hangs(broker, there, reading, said):
    """While connecting hangs, what is put only waits in its box."""
    client = Hanging()
    message = reading_message(broker.prefix, there, reading(1))
    with Outlet(broker, "laptop", said.append, client.make) as outlet:
        for _ in range(5000):
            outlet.put(message)
        assert not client.released.is_set()  # it hung all the while
        assert not client.published
    assert outlet.dropped == 5000 - 3600


def test_a_file_that_is_no_certificate_is_refused(tmp_path):
    """Before anything is sent."""
    wrong = tmp_path / "ca.pem"
    wrong.write_text("no certificate")
    with pytest.raises(InputError, match="PEM"):
        made(Broker("localhost", 8883, True, ca_file=wrong), Message("t", b""))
