"""Run the page: the live session, and a server in front of it."""

import asyncio
import contextlib
import gc
import logging
import os
import signal
import socket
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.runs.live.owner import Owner
from snapgloss.web.gate import access, doors
from snapgloss.web.gate.entrance import link_path
from snapgloss.web.gate.gate import Rules
from snapgloss.web.gate.limits import BODY_MOST_BYTES

if TYPE_CHECKING:
    from starlette.types import ASGIApp

    from snapgloss.rigs.description import RigDescription
    from snapgloss.runs.known_rigs import KnownRig

PORT = 8750
LOOPBACK, EVERYWHERE = "127.0.0.1", "0.0.0.0"
END_WITHIN_S = 2
PHOTO_MOST_BYTES = 12_000_000
LARGE = {"/_nicegui/client/": PHOTO_MOST_BYTES + 64 * 1024}  # a photo and what is round it


@dataclass(frozen=True)
class ServeOptions:
    """`rig_ports` empty: the only rig that is plugged in. `virtual_speed` None: real rigs, else
    so many simulated ones. `known` are rigs by their boards, wherever they are plugged in.

    `lan`: for the local network, with a key; `name` is one more name this computer has there.
    """

    folder: Path
    rig: "RigDescription"
    port: int = PORT
    rig_ports: tuple[str, ...] = ()
    virtual_speed: str | None = None
    mass_g: int = 2000
    room_c: float = 21.0
    lan: bool = False
    new_key: bool = False
    name: str = ""
    virtual_rigs: int = 1
    known: "tuple[KnownRig, ...]" = ()


class RigAt(NamedTuple):
    """One rig to be served: its name on the page, its description, what names its port, and its
    board where only that one is meant."""

    name: str
    rig: "RigDescription"
    find_port: Callable[[], str]
    board: str = ""


@dataclass(frozen=True)
class Served:
    """Where the page is: what to open here, and the link with its key for a tablet."""

    url: str
    link: str


def serve(options: ServeOptions, say: Callable[[Served], None]) -> None:
    """Serve until Ctrl-C or SIGTERM; `say` is told where, once the port is open.

    Raises StoreError when another page runs with this folder, InputError for a busy port.
    """
    from snapgloss.base.addresses import record_address
    from snapgloss.runs.telling import telling_broker
    from snapgloss.store import open_store

    signal.signal(signal.SIGTERM, signal.default_int_handler)
    with contextlib.ExitStack() as parts:
        parts.enter_context(contextlib.suppress(KeyboardInterrupt))
        parts.enter_context(Owner(options.folder))
        parts.enter_context(telling_broker(options.folder, logging.getLogger(__name__).warning))
        listener = parts.enter_context(_listener(options))
        rules = rules_of(options, listener.getsockname()[1])
        store = parts.enter_context(open_store(record_address(options.folder)))
        sys.stderr.writelines(f"{words}\n" for words in store.told)
        rigs = parts.enter_context(rigs_of(options))
        keep_to(options.folder)
        from snapgloss.web.running import running

        app, end = parts.enter_context(running(options, store, rigs, rules))
        # What is loaded stays: a collection need not walk through it, which would hold up a page.
        gc.collect()
        gc.freeze()
        asyncio.run(_run(app, listener, lambda: say(served(rules)), end))


def rules_of(options: ServeOptions, port: int) -> Rules:
    """Return who may ask for what."""
    if not options.lan:
        return Rules(doors.loopback_doors(port), large=LARGE)
    key = access.access_in(options.folder, options.new_key)
    return Rules(doors.lan_doors(port, options.name), key, LARGE)


def served(rules: Rules) -> Served:
    """Return where the page is."""
    here = f"http://127.0.0.1:{rules.doors.port}"
    if rules.access is None:
        return Served(here, "")
    return Served(here, rules.doors.first + link_path(rules.access.token))


def keep_to(folder: Path) -> None:
    """Let NiceGUI keep nothing outside the data folder; before it is imported."""
    os.environ.setdefault("NICEGUI_STORAGE_PATH", str(folder / "page"))


@contextlib.contextmanager
def _listener(options: ServeOptions) -> Iterator[socket.socket]:
    """The open port. It is opened before anything else, so that its number is known.

    It says that it is TCP: asyncio sends small pieces at once only on such a port, and without it
    each answer in two pieces waited 40 ms for the other side's acknowledgement."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP) as listener:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((EVERYWHERE if options.lan else LOOPBACK, options.port))
        except OSError:
            raise InputError(
                f"The port {options.port} of this computer is busy.",
                "Name another with --page-port.",
            ) from None
        yield listener


@contextlib.contextmanager
def rigs_of(options: ServeOptions) -> Iterator[list[RigAt]]:
    """The rigs to be served: simulated ones of our own, those at ports that were named, those that
    are known by name, or the only one that is plugged in."""
    if options.virtual_speed is not None:
        with contextlib.ExitStack() as parts:
            yield [_virtual(options, number, parts) for number in range(options.virtual_rigs)]
    elif options.rig_ports:
        ports = options.rig_ports
        yield [_named(options.rig, n, len(ports), _always(port)) for n, port in enumerate(ports)]
    elif options.known:
        from snapgloss.runs.rig_ports import RigPorts

        ports_there = RigPorts(options.known)
        yield [
            RigAt(one.name, one.rig, ports_there.finder(one.board), one.board)
            for one in options.known
        ]
    else:
        yield [RigAt(options.rig.name, options.rig, _only_port)]


def _virtual(options: ServeOptions, number: int, parts: contextlib.ExitStack) -> RigAt:
    from snapgloss.runs.demo import SEED, demo_rig
    from snapgloss.virtual.spawn import VirtualRigProcess

    assert options.virtual_speed is not None
    wanted = demo_rig(options.mass_g, options.room_c, SEED + number, options.virtual_speed)
    port = parts.enter_context(VirtualRigProcess(wanted)).port
    return _named(options.rig, number, options.virtual_rigs, _always(port))


def _named(rig: "RigDescription", number: int, many: int, find_port: Callable[[], str]) -> RigAt:
    """A rig of several that have one description between them: each its own name, by which its
    figures are kept."""
    if many > 1:
        rig = rig.model_copy(update={"name": f"{rig.name[:36]} {number + 1}"})
    return RigAt(rig.name, rig, find_port)


def _always(port: str) -> Callable[[], str]:
    return lambda: port


def _only_port() -> str:
    from snapgloss.link.ports import list_ports

    found = list_ports()
    return found[0].port if len(found) == 1 else ""


async def _run(
    app: "ASGIApp", listener: socket.socket, say: Callable[[], None], end: Callable[[], None]
) -> None:
    import uvicorn

    from snapgloss.web.knocking import Connections, protocol_of

    class Server(uvicorn.Server):
        """Says when it listens, and lets its streams go when it ends."""

        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            say()

        async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
            end()
            await super().shutdown(sockets)

    config = uvicorn.Config(
        app, log_config=None, access_log=False, server_header=False, proxy_headers=False,
        ws_max_size=BODY_MOST_BYTES, timeout_graceful_shutdown=END_WITHIN_S,
        timeout_keep_alive=15, http=protocol_of(Connections()), lifespan="on",
    )  # fmt: skip
    await Server(config).serve(sockets=[listener])
