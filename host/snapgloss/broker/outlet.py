"""The way out to a broker: a thread of its own sends what waits, whatever becomes of the broker.

At most IN_FLIGHT messages are under way: a broker that acknowledges slowly or not at all lets the
outbox fill, which drops its oldest. Nothing here is ever waited for but a moment at the end.
"""

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Self

from snapgloss.base.errors import InputError
from snapgloss.broker.address import Broker
from snapgloss.broker.messages import Message, host_message
from snapgloss.broker.outbox import Outbox

if TYPE_CHECKING:
    from paho.mqtt.client import Client

IN_FLIGHT = 20
KEEPALIVE_S = 30
"""A host that was cut off is told of after one and a half of it (MQTT 3.1.1, 3.1.2.10)."""
AGAIN_FIRST_S, AGAIN_MOST_S = 1, 30
END_WITHIN_S = 2.0
ACKNOWLEDGED = 1  # quality of service: at least once

AWAY = "The broker {where} {why}. The batch is recorded all the same."
BACK = "The broker {where} is told again{lost}."
LOST = "; {count} of the oldest messages were dropped"
ENDED = "The broker {where} did not get {count} messages: {dropped} dropped, {left} left over."

Make = Callable[[Broker, Message], "Client"]
"""Makes a client from where to connect and its last will."""


class Outlet:
    """A context manager. `say` is told in sentences, from a thread of this outlet, when the broker
    goes away and comes back. `make` and `outbox` are for tests."""

    def __init__(
        self,
        broker: Broker,
        host: str,
        say: Callable[[str], None],
        make: Make | None = None,
        outbox: Outbox | None = None,
    ) -> None:
        self.broker, self.host = broker, host
        self._say, self._make = say, make or made
        self._outbox = Outbox() if outbox is None else outbox
        self._moved = threading.Condition()
        self._is_there = self._is_ending = self._was_told = False
        self._under_way = self._told_dropped = 0
        self._thread = threading.Thread(target=self._run, name="broker", daemon=True)

    def put(self, message: Message) -> None:
        """Let a message go out when it can; returns at once."""
        self._outbox.put(message)
        with self._moved:
            self._moved.notify()

    @property
    def dropped(self) -> int:
        """How many messages were dropped because the broker was away or slow."""
        return self._outbox.dropped

    def __enter__(self) -> Self:
        self._client = self._make(
            self.broker, host_message(self.broker.prefix, self.host, is_there=False)
        )
        self._client.on_connect = self._connected
        self._client.on_connect_fail = self._failed
        self._client.on_disconnect = self._disconnected
        self._client.on_publish = self._published
        self._thread.start()
        return self

    def __exit__(self, *_fault: object) -> None:
        """Say goodbye, and what did not get there; waits a few seconds at most.

        Where the goodbye is not acknowledged the connection is left to break, so that the broker
        says it in our place.
        """
        left = self._wait()
        self.put(host_message(self.broker.prefix, self.host, is_there=False))
        is_taken = left == 0 and self._wait() == 0
        with self._moved:
            self._is_ending = True
            self._moved.notify_all()
        if is_taken or not self._is_there:
            self._client.disconnect()
        self._thread.join(END_WITHIN_S / 10)
        if self.dropped or left:
            told = {"count": self.dropped + left, "dropped": self.dropped, "left": left}
            self._say(ENDED.format(where=self.broker.shown, **told))

    def _wait(self) -> int:
        """Wait until all was taken, while the broker is there; give how many were not."""
        with self._moved:
            self._moved.wait_for(self._is_done, END_WITHIN_S if self._is_there else 0)
            return len(self._outbox) + self._under_way

    def _is_done(self) -> bool:
        return not len(self._outbox) and self._under_way == 0

    # --- this outlet's own thread ---

    def _run(self) -> None:
        """Connect, then send what may be sent. Whatever goes wrong here stays here."""
        try:
            self._client.connect_async(self.broker.host, self.broker.port, KEEPALIVE_S)
            self._client.loop_start()
            while self._may_send():
                message = self._outbox.take()
                if message is not None:
                    self._send(message)
        except Exception as fault:  # a fault of ours must not be one of the batch
            self._tell_away(f"cannot be told: {fault}")

    def _may_send(self) -> bool:
        """Wait until a message may go out; False at the end."""
        with self._moved:
            self._moved.wait_for(
                lambda: (
                    self._is_ending
                    or (self._is_there and self._under_way < IN_FLIGHT and len(self._outbox) > 0)
                )
            )
            return not self._is_ending

    def _send(self, message: Message) -> None:
        with self._moved:
            self._under_way += 1
        self._client.publish(message.topic, message.payload, ACKNOWLEDGED, message.is_kept)

    # --- the client's thread ---

    def _connected(self, _client: Any, _data: Any, _flags: Any, reason: Any, _more: Any) -> None:
        if reason.is_failure:
            self._tell_away(f"refuses: {str(reason).lower()}")
            return
        self._tell_back()
        self._outbox.put(host_message(self.broker.prefix, self.host, is_there=True))
        with self._moved:
            self._is_there = True
            self._moved.notify_all()

    def _failed(self, _client: Any, _data: Any) -> None:
        self._tell_away("does not answer")

    def _disconnected(self, *_told: Any) -> None:
        with self._moved:
            was_there, self._is_there = self._is_there, False
            is_ending = self._is_ending
        if was_there and not is_ending:
            self._tell_away("is gone")

    def _published(self, *_told: Any) -> None:
        with self._moved:
            self._under_way -= 1
            self._moved.notify_all()

    def _tell_away(self, why: str) -> None:
        """Once, until it is back."""
        if not self._was_told and not self._is_ending:
            self._was_told = True
            self._say(AWAY.format(where=self.broker.shown, why=why))

    def _tell_back(self) -> None:
        if self._was_told:
            self._was_told = False
            count, self._told_dropped = self.dropped - self._told_dropped, self.dropped
            lost = LOST.format(count=count) if count else ""
            self._say(BACK.format(where=self.broker.shown, lost=lost))


def made(broker: Broker, will: Message) -> "Client":
    """A client of paho's, not yet connected. Raises InputError when it is not installed."""
    try:
        from paho.mqtt.client import Client
        from paho.mqtt.enums import CallbackAPIVersion
    except ImportError:
        raise InputError(
            "A broker is named, and what talks to it is not installed.",
            "Install it: pip install 'snapgloss[mqtt]'.",
        ) from None
    client = Client(CallbackAPIVersion.VERSION2)
    client.will_set(will.topic, will.payload, ACKNOWLEDGED, retain=True)
    client.max_inflight_messages_set(IN_FLIGHT)
    client.reconnect_delay_set(AGAIN_FIRST_S, AGAIN_MOST_S)
    if broker.user:
        client.username_pw_set(broker.user, broker.password)
    if broker.is_tls:
        _secure(client, broker)
    return client


def _secure(client: "Client", broker: Broker) -> None:
    """Encrypted, and only with a server whose certificate is for its name."""
    try:
        client.tls_set(ca_certs=str(broker.ca_file) if broker.ca_file else None)
    except OSError:
        raise InputError(
            "The file of the broker's certificate authority is none.",
            "Name a PEM file after ?ca=.",
        ) from None
