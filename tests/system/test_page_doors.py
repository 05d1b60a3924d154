"""The doors of the page, knocked at from outside: a real server, plain sockets, line by line.

The same lines are tested inside the gate in tests/host/web/test_gate.py; here uvicorn, NiceGUI
and its socket are behind it. Each test names its line of the table in host/docs/page.md.
"""

import asyncio
import itertools
import json
import re
import socket
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import NamedTuple

import pytest
from tests.browser.conftest import Served
from tests.host.synthetic import SEEDED, keep, synthetic

from snapgloss.rigs.description import BENCH_RIG
from snapgloss.store import open_store
from snapgloss.web.api.schema import COMMANDS
from snapgloss.web.gate import limits
from snapgloss.web.serve import ServeOptions, _listener

pytestmark = [pytest.mark.server, pytest.mark.enable_socket, pytest.mark.timeout(120)]

NAME = '<script>alert(1)</script><img src=x onerror="alert(2)">'
FAR = "http://evil.example"
SOCKET = "/_nicegui_ws/socket.io/?EIO=4&transport=websocket"
UPGRADE = {"Connection": "Upgrade", "Upgrade": "websocket", "Sec-WebSocket-Version": "13",
           "Sec-WebSocket-Key": "AAAAAAAAAAAAAAAAAAAAAA=="}  # fmt: skip
JSON = "application/json"
PEERS = itertools.count(1)


class Got(NamedTuple):
    """What came back; status 0 for a line that was cut without a word."""

    status: int
    text: str


class Door:
    """One served page, spoken to by hand."""

    def __init__(self, served: Served) -> None:
        self.served = served
        self.host = f"127.0.0.1:{served.port}"
        self.origin = f"http://{self.host}"
        self.peer = "127.0.0.1"

    def line(self) -> socket.socket:
        """A new connection, from the address of this test."""
        return socket.create_connection(("127.0.0.1", self.served.port), 30, (self.peer, 0))

    def ask(
        self, method: str, path: str, headers: dict[str, str] | None = None, body: bytes = b""
    ) -> Got:
        """Ask once. Nothing is sent that is not named, but Host and the length."""
        sent = {"Host": self.host, "Content-Length": str(len(body)), **(headers or {})}
        lines = [f"{method} {path} HTTP/1.1", *(f"{k}: {v}" for k, v in sent.items())]
        with self.line() as line:
            line.sendall("\r\n".join(lines).encode() + b"\r\n\r\n" + body)
            return _read(line)

    def command(self, name: str, body: bytes = b"{}", **headers: str) -> Got:
        """A command as our own page sends it."""
        ours = {"Origin": self.origin, "Content-Type": JSON}
        return self.ask("POST", f"/api/{name}", {**ours, **headers}, body)


def _read(line: socket.socket) -> Got:
    found = b""
    line.settimeout(30)
    while b"\r\n\r\n" not in found:
        if not (piece := line.recv(65_536)):
            return Got(0, "")
        found += piece
    head, _, body = found.partition(b"\r\n\r\n")
    length = re.search(rb"content-length: (\d+)", head.lower())
    while length and len(body) < int(length[1]) and (piece := line.recv(65_536)):
        body += piece
    return Got(int(head.split()[1]), body.decode("utf-8", "replace"))


@pytest.fixture(scope="module")
def door(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Door]:
    """A page for this computer alone, with a batch of a wicked name in its record."""
    folder = tmp_path_factory.mktemp("kitchen")
    with open_store(folder) as store:
        keep(store, synthetic(SEEDED), chocolate=NAME)
        store.add_note(1, NAME)
    served = Served(folder, "--virtual")
    yield Door(served)
    served.end()


@pytest.fixture(scope="module")
def lan_door(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Door]:
    """A page for the local network, with a key."""
    served = Served(tmp_path_factory.mktemp("lan"), "--virtual", "--lan")
    yield Door(served)
    served.end()


@pytest.fixture(autouse=True)
def another_address(door: Door, lan_door: Door) -> None:
    """Every test comes from an address of its own, so none has asked too much before."""
    door.peer = lan_door.peer = f"127.0.1.{next(PEERS)}"


def lines_of(door: Door) -> list[str]:
    """The audit."""
    path = door.served.folder / "page-commands.log"
    return path.read_text(encoding="utf-8").splitlines()


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1:1", "localhost.evil.example:80"])
@pytest.mark.parametrize("path", ["/", "/api/state", "/_nicegui/x", "/assets/x", "/history"])
def test_line_1_a_name_that_is_not_listed(door: Door, host: str, path: str) -> None:
    """403 on every path, and a line in the audit."""
    assert door.ask("GET", path, {"Host": host}).status == 403
    assert lines_of(door)[-1].endswith(f"GET {path}  refused 403")


@pytest.mark.parametrize("kind", ["application/x-www-form-urlencoded", "text/plain", JSON])
@pytest.mark.parametrize("origin", [FAR, "null", None])
def test_line_2_a_post_from_another_site(door: Door, kind: str, origin: str | None) -> None:
    """Form, text and JSON, from elsewhere, from "null" and from nowhere: refused, and undone."""
    headers = {"Content-Type": kind, **({"Origin": origin} if origin else {})}
    before = len(_notes(door))
    assert door.ask("POST", "/api/note", headers, b'{"words":"from elsewhere"}').status == 403
    assert len(_notes(door)) == before


def _notes(door: Door) -> list[str]:
    with open_store(door.served.folder, to_read=True) as store:
        return [note.words for note in store.notes(1)]


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_line_3_looking_changes_nothing(door: Door, name: str) -> None:
    """405 for GET on each path that changes something."""
    assert door.ask("GET", f"/api/{name}").status == 405


@pytest.mark.parametrize(
    "key", [{}, {"Cookie": "snapgloss=wrong"}, {"Authorization": "Bearer " + "w" * 43}]
)
def test_line_4_no_key_and_a_wrong_one(lan_door: Door, key: dict[str, str]) -> None:
    """401 for page, API and socket; the right key opens them."""
    for path in ("/", "/api/state", "/history"):
        assert lan_door.ask("GET", path, key).status == 401
    ours = {**UPGRADE, "Origin": lan_door.origin, **key}
    assert lan_door.ask("GET", SOCKET, ours).status == 403
    assert lan_door.served.link is not None
    right = {"Authorization": "Bearer " + lan_door.served.link.rpartition("/")[2]}
    assert lan_door.ask("GET", "/api/state", right).status == 200


def test_line_5_trying_keys(tmp_path_factory: pytest.TempPathFactory) -> None:
    """429 after a few wrong ones; the right one, 256 bits that nobody guesses, still opens."""
    served = Served(tmp_path_factory.mktemp("tried"), "--virtual", "--lan")
    try:
        door = Door(served)
        assert served.link is not None
        form = {"Content-Type": "application/x-www-form-urlencoded", "Origin": door.origin}
        tried = [door.ask("POST", "/enter", form, b"key=" + b"w" * 43).status for _ in range(11)]
        assert tried == [401] * limits.FAILURES.burst + [429]
        right = b"key=" + served.link.rpartition("/")[2].encode()
        assert door.ask("POST", "/enter", form, right).status == 303
    finally:
        served.end()


def test_line_6_ten_megabytes(door: Door) -> None:
    """Refused by its length before it is read; in pieces of unknown length as soon as it is too
    much."""
    said = {"Origin": door.origin, "Content-Type": JSON, "Content-Length": "10000000"}
    assert door.ask("POST", "/api/note", said).status == 413
    headers = f"POST /api/note HTTP/1.1\r\nHost: {door.host}\r\nOrigin: {door.origin}\r\n"
    piece = b"10000\r\n" + b" " * 65_536 + b"\r\n"
    with door.line() as line:
        line.sendall(f"{headers}Transfer-Encoding: chunked\r\n\r\n".encode() + piece + piece)
        assert _read(line).status == 413


def test_line_7_a_slow_body(door: Door) -> None:
    """408 after ten seconds, while others are served."""
    headers = f"POST /api/note HTTP/1.1\r\nHost: {door.host}\r\nOrigin: {door.origin}\r\n"
    with door.line() as line:
        line.sendall(f"{headers}Content-Type: {JSON}\r\nContent-Length: 9\r\n\r\n{{".encode())
        assert door.ask("GET", "/api/state").status == 200
        assert _read(line).status == 408


@pytest.mark.parametrize("origin", [FAR, "null", None])
def test_line_8_a_socket_of_another_origin(door: Door, origin: str | None) -> None:
    """403 at the handshake of NiceGUI's own socket, which by itself would answer; ours is let
    in."""
    theirs = {**UPGRADE, **({"Origin": origin} if origin else {})}
    assert door.ask("GET", SOCKET, theirs).status == 403
    assert door.ask("GET", SOCKET, {**UPGRADE, "Origin": door.origin}).status == 101


@pytest.mark.parametrize("path", ["/", "/after?run=1", "/history?batch=1", "/history", "/before"])
def test_line_9_names_with_script(door: Door, path: str) -> None:
    """No page holds the markup of a name as markup: neither in its HTML nor with a nonce."""
    page = door.ask("GET", path).text
    assert "</html>" in page
    assert not re.search(r"<script[^>]*>alert", page)
    assert "<img src=x" not in page


def test_line_9_names_in_the_api_are_data(door: Door) -> None:
    """JSON, of a type that no browser takes for a page."""
    got = door.ask("GET", "/api/history")
    assert json.loads(got.text)["batches"][0]["summary"]["chocolate"] == NAME


@pytest.mark.parametrize(
    "path",
    [
        "/assets/../../../../etc/passwd", "/assets/x/..%2f..%2f..%2fetc%2fpasswd",
        "/_nicegui/3/static/../../../../../../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd",
        "/_nicegui/3/static/..%2f..%2f..%2f..%2f..%2fetc%2fpasswd", "//etc/passwd",
        "/api/batches/1/photos/..%2f..%2fpage-key", "/api/batches/1/report.html%2f..%2f..%2fx",
        "/api/batches/1/photos/1", "/api/batches/1/export.csv%00.html",
    ],
)  # fmt: skip
def test_line_10_no_path_climbs(door: Door, path: str) -> None:
    """Neither ours nor NiceGUI's, neither plain nor in %-signs."""
    got = door.ask("GET", path)
    assert got.status in (400, 404), got
    assert "root:" not in got.text


def test_line_11_two_devices(door: Door) -> None:
    """One leads; the other may say off and write notes, and no more until it takes the lead."""
    first, second = {"X-Snapgloss-Page": "first"}, {"X-Snapgloss-Page": "second"}
    assert door.command("lead", **first).status == 200
    assert door.command("stage", b'{"sample":true}', **second).status == 409
    assert door.command("note", b'{"words":"by the second"}', **second).status == 200
    assert door.command("off", **second).status == 200
    assert door.command("lead", **second).status == 200
    assert door.command("stage", b'{"sample":true}', **first).status == 409
    assert any(line.endswith("stage  refused: another leads") for line in lines_of(door))


@pytest.mark.parametrize("name", ["arm", "start", "heat", "press", "testing", "lease", "set"])
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_line_12_nothing_starts_heat(door: Door, name: str, method: str) -> None:
    """There is no such path."""
    headers = {"Origin": door.origin, "Content-Type": JSON}
    assert door.ask(method, f"/api/{name}", headers, b"{}").status == 404


def test_hundreds_of_silent_lines_do_not_keep_off_away(door: Door) -> None:
    """310 connections that say nothing, and off is answered."""
    lines = [door.line() for _ in range(310)]
    try:
        assert door.command("off").status == 200
        assert door.ask("GET", "/api/state").status == 200
    finally:
        for line in lines:
            line.close()


def test_each_piece_of_an_answer_goes_at_once(tmp_path: Path) -> None:
    """No line of the page waits for more to send, or for an acknowledgement, as TCP does by
    itself: 40 ms for a reading, or for a curve."""

    async def is_at_once() -> bool:
        found: asyncio.Future[bool] = asyncio.get_running_loop().create_future()

        def heard(_reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
            line = writer.get_extra_info("socket")
            found.set_result(bool(line.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)))
            writer.close()

        with _listener(ServeOptions(tmp_path, BENCH_RIG, port=0)) as listener:
            server = await asyncio.start_server(heard, sock=listener)
            _, writer = await asyncio.open_connection(*listener.getsockname())
            async with asyncio.timeout(30):
                is_so = await found
            writer.close()
            server.close()
        return is_so

    with ThreadPoolExecutor(1) as apart:  # a browser's loop may run in this thread
        assert apart.submit(lambda: asyncio.run(is_at_once())).result()
