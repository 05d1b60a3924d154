"""A client of a broker for tests: what paho's does, without a network, and as bad as wanted."""

import threading
from types import SimpleNamespace

from snapgloss.broker.address import Broker
from snapgloss.broker.messages import Message

ACCEPTED = SimpleNamespace(is_failure=False)
REFUSED = type("Reason", (), {"is_failure": True, "__str__": lambda _self: "Not authorized"})()


class ClientDouble:
    """Acknowledges at once. `connect_async` may be replaced by what a bad broker does."""

    def __init__(self) -> None:
        self.published: list[tuple[str, bytes, int, bool]] = []
        self.will: Message | None = None
        self.acknowledges = True
        self.is_ended = False
        self.released = threading.Event()

    def make(self, broker: Broker, will: Message) -> "ClientDouble":
        """Stands in for `outlet.made`."""
        self.broker, self.will = broker, will
        return self

    def connect_async(self, host: str, port: int, keepalive: int) -> None:
        """Be accepted."""
        self.accept()

    def accept(self) -> None:
        """The broker says yes."""
        self.on_connect(self, None, None, ACCEPTED, None)

    def loop_start(self) -> None:
        """Nothing to start."""

    def publish(self, topic: str, payload: bytes, qos: int, retain: bool) -> None:
        """Keep it, and acknowledge it."""
        self.published.append((topic, payload, qos, retain))
        if self.acknowledges:
            self.on_publish(self, None, len(self.published), ACCEPTED, None)

    def disconnect(self) -> None:
        """The end."""
        self.is_ended = True
        self.released.set()


class Hanging(ClientDouble):
    """Connecting never returns, as a name that is looked up for minutes."""

    def connect_async(self, host, port, keepalive):
        """Hang."""
        self.released.wait(30)


class Unreachable(ClientDouble):
    """Nobody there."""

    def connect_async(self, host, port, keepalive):
        """Fail, as paho tells it."""
        self.on_connect_fail(self, None)


class Refusing(ClientDouble):
    """A wrong password."""

    def connect_async(self, host, port, keepalive):
        """Say no."""
        self.on_connect(self, None, None, REFUSED, None)


class Slow(ClientDouble):
    """Takes messages and never acknowledges one."""

    def __init__(self):
        super().__init__()
        self.acknowledges = False


class DiesAfter(ClientDouble):
    """Is gone after so many messages."""

    def __init__(self, count: int = 30):
        super().__init__()
        self.count = count

    def publish(self, topic, payload, qos, retain):
        """Be there, then not."""
        if len(self.published) == self.count:
            self.on_disconnect(self, None, None, ACCEPTED, None)
            self.count = -1
            return
        super().publish(topic, payload, qos, retain)


class Breaks(ClientDouble):
    """Raises what nobody expects."""

    def publish(self, topic, payload, qos, retain):
        """Fail."""
        raise RuntimeError("no such thing")


BAD = (Hanging, Unreachable, Refusing, Slow, DiesAfter, Breaks)
