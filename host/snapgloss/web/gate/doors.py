"""The names under which this server may be asked: a page elsewhere cannot rebind its name to us.

A browser sends the name that a person typed or a page used as `Host`; a name that is not listed
is refused, whatever address it leads to.
"""

import ipaddress
import socket

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
USUAL_PORT = 80


class Doors:
    """The names of this server and its port, and the origins of pages that come from it."""

    def __init__(self, names: list[str] | tuple[str, ...], port: int) -> None:
        self.names, self.port = tuple(names), port
        self.hosts = frozenset(host for name in names for host in _hosts(name.lower(), port))
        self.origins = frozenset(f"http://{host}" for host in self.hosts)

    @property
    def first(self) -> str:
        """The address to type, of the last name: a tablet cannot use the loopback ones."""
        return f"http://{self.names[-1]}:{self.port}"


def _hosts(name: str, port: int) -> list[str]:
    return [f"{name}:{port}", *([name] if port == USUAL_PORT else [])]


def loopback_doors(port: int) -> Doors:
    """Names for this computer alone."""
    return Doors(LOOPBACK, port)


def lan_doors(port: int, extra: str = "") -> Doors:
    """Names for the local network: its addresses here, the computer's name, and one more."""
    found = [*LOOPBACK, *_own_names(), *_own_addresses(), *([extra] if extra else [])]
    return Doors(list(dict.fromkeys(found)), port)


def is_loopback(peer: str) -> bool:
    """True for an address of this computer itself."""
    try:
        return ipaddress.ip_address(peer).is_loopback
    except ValueError:
        return False


def _own_names() -> list[str]:
    name = socket.gethostname().partition(".")[0]
    return [name, f"{name}.local"] if name else []


def _own_addresses() -> list[str]:
    """The address that the route to elsewhere has; no packet is sent for that."""
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.connect(("192.0.2.1", 9))  # of a net kept for documents (RFC 5737)
            return [str(probe.getsockname()[0])]
    except OSError:
        return []
