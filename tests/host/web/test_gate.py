"""The security list: who is refused, how, and that what changes something stays undone then."""

import asyncio
import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from tests.host.web.conftest import HOST, ORIGIN, Asker, HandClock

from snapgloss.link.testing import ScriptedRig
from snapgloss.web.api.schema import COMMANDS
from snapgloss.web.gate import limits
from snapgloss.web.gate.access import COOKIE, Access, access_in
from snapgloss.web.gate.audit import Audit
from snapgloss.web.gate.doors import Doors, lan_doors
from snapgloss.web.gate.gate import Gate, Rules
from snapgloss.web.site import Site

TOKEN = "k" * 43
JSON = {"content-type": "application/json"}


def offs(rig: ScriptedRig) -> int:
    """How often the rig was told off."""
    return [message.name for message in rig.done].count("off")


@pytest.mark.parametrize(
    "host",
    ["evil.example", "127.0.0.1:1", "127.0.0.1", "127.0.0.1:8750.evil.example", "", "0:8750"],
)
def test_a_host_that_is_not_listed_is_refused(ask: Asker, host: str) -> None:
    """DNS rebinding: a name of somebody else's that leads here gets nothing."""
    assert ask("GET", "/api/state", host=host).status == 403
    assert ask("GET", "/api/state").status == 200


def test_two_hosts_are_refused(ask: Asker) -> None:
    """Nobody can say which of two is meant."""
    twice = {"host": HOST, "Host".lower() + "": HOST}
    assert ask("GET", "/api/state", headers=twice).status == 200

    async def both() -> int:
        sent: list[Any] = []
        scope = {
            "type": "http", "method": "GET", "path": "/api/state", "client": ("127.0.0.1", 1),
            "headers": [(b"host", HOST.encode()), (b"host", b"evil.example")],
        }  # fmt: skip

        async def send(message: Any) -> None:
            sent.append(message)

        await ask.app(scope, None, send)
        return int(sent[0]["status"])

    assert asyncio.run(both()) == 400


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example", "content-type": "application/x-www-form-urlencoded"},
        {"origin": "http://evil.example", "content-type": "text/plain"},
        {"origin": "http://evil.example", **JSON},
        {"origin": "http://evil.example", "sec-fetch-site": "same-origin", **JSON},
        {"origin": "http://127.0.0.1:8751", **JSON},
        {"origin": "https://127.0.0.1:8750", **JSON},
        {"origin": "null", **JSON},
        {**JSON},
        {"sec-fetch-site": "cross-site", **JSON},
        {"sec-fetch-site": "same-site", **JSON},
        {"sec-fetch-site": "none", **JSON},
        {"origin": ORIGIN, "sec-fetch-site": "cross-site", **JSON},
    ],
)  # fmt: skip
def test_a_post_from_another_site_does_nothing(
    ask: Asker, rig: ScriptedRig, headers: dict[str, str]
) -> None:
    """Form, text and JSON, with another origin, with none, and with "null": nothing reaches the
    rig."""
    got = ask("POST", "/api/off", b"{}", headers={"host": HOST, **headers})
    assert got.status == 403
    assert offs(rig) == 0
    assert ask.command("off").status == 200
    assert offs(rig) == 1


@pytest.mark.parametrize("name", sorted(COMMANDS))
@pytest.mark.parametrize("method", ["GET", "HEAD"])
def test_nothing_changes_by_looking(ask: Asker, rig: ScriptedRig, name: str, method: str) -> None:
    """Each path that changes something refuses GET and HEAD, and names POST."""
    before = len(rig.done)
    got = ask(method, f"/api/{name}")
    assert got.status == 405
    assert got.headers["allow"] == "POST"
    assert len(rig.done) == before


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "X"])
def test_other_methods_are_refused(ask: Asker, method: str) -> None:
    """The list of methods is short."""
    assert ask(method, "/api/off").status == 405


@pytest.mark.parametrize("name", ["arm", "start", "heat", "lease", "test", "press", "write_pin"])
def test_no_path_starts_heat(ask: Asker, name: str) -> None:
    """There is no such command, and none of the known ones is it."""
    assert name not in COMMANDS
    assert ask.command(name).status == 404


def test_too_much_body_is_refused(ask: Asker, rig: ScriptedRig) -> None:
    """Ten megabytes in pieces, and one byte more than is allowed."""
    pieces = iter(range(160))

    async def piece() -> dict[str, Any]:
        return {"type": "http.request", "body": b" " * 65_536, "more_body": next(pieces) < 159}

    assert ask("POST", "/api/off", piece, **JSON).status == 413
    assert next(pieces) < 4, "it was read to its end all the same"
    fits = b" " * limits.BODY_MOST_BYTES
    assert ask("POST", "/api/off", fits + b" ", **JSON).status == 413
    assert ask("POST", "/api/off", fits, **JSON).status == 200
    assert offs(rig) == 1


def test_what_says_that_it_is_too_large_is_not_read(ask: Asker, rig: ScriptedRig) -> None:
    """Refused by its length alone: nothing is waited for."""

    async def never() -> Any:
        raise AssertionError("it was read")

    most = limits.BODY_MOST_BYTES
    got = ask("POST", "/api/off", never, content_length=str(most + 1), **JSON)
    assert (got.status, got.headers["connection"], offs(rig)) == (413, "close", 0)
    for odd in ("-1", "1e9", "", "9" * 40):
        assert ask("POST", "/api/off", b"{}", content_length=odd, **JSON).status == 200
    assert ask("POST", "/api/off", b"{}", content_length=str(most), **JSON).status == 200


def test_a_photo_may_take_longer() -> None:
    """Ten seconds for a command, a minute for twelve megabytes."""
    assert limits.body_within_s(limits.BODY_MOST_BYTES) == limits.BODY_WITHIN_S == 10
    assert 50 < limits.body_within_s(12_000_000) < 60


def test_a_slow_body_is_not_waited_for(ask: Asker, monkeypatch: pytest.MonkeyPatch) -> None:
    """A body that never ends is given up."""
    monkeypatch.setattr(limits, "BODY_WITHIN_S", 0.0)
    never = asyncio.Event

    async def wait() -> Any:
        await never().wait()

    got = ask("POST", "/api/off", wait, **JSON)
    assert got.status == 408
    assert got.headers["connection"] == "close"


@pytest.mark.parametrize(
    "body",
    [
        b'{"words": NaN}', b'{"words": Infinity}', b'{"words": "a", "words": "b"}',
        b'{"words": ' + b"[" * 9 + b"]" * 9 + b"}", b"[" * 30_000, b"\xff\xfe", b'"words"', b"[]",
        b'{"words": 1}', b'{"words": "a", "run": 3}', b'{"words": ""}', b"{}",
    ],
)  # fmt: skip
def test_json_is_read_strictly(ask: Asker, body: bytes) -> None:
    """No NaN, no name twice, no depth, no other type, no field more or fewer."""
    got = ask("POST", "/api/note", body, **JSON)
    assert got.status == 400
    assert set(got.data) == {"error", "remedy"}
    assert got.data["error"]


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", ""])
def test_only_json_is_read(ask: Asker, kind: str) -> None:
    """What a form of another site could send is no command, even from here."""
    assert ask("POST", "/api/note", b'{"words":"a"}', content_type=kind).status == 415


def test_too_many_commands_are_refused_but_off_never(
    ask: Asker, rig: ScriptedRig, clock: HandClock
) -> None:
    """After a burst 429; off is served all the same; with time it is forgotten."""
    found = [ask.command("lead").status for _ in range(limits.COMMANDS.burst + 5)]
    assert found.count(200) == limits.COMMANDS.burst
    assert found[-1] == 429
    assert [ask.command("off").status for _ in range(50)] == [200] * 50
    assert offs(rig) == 50
    clock.at_s += 10
    assert ask.command("lead").status == 200


def test_too_many_requests_are_refused(ask: Asker) -> None:
    """Looking has its limit too, for each address by itself."""
    burst = limits.REQUESTS.burst
    assert {ask("GET", "/assets/none").status for _ in range(burst)} == {404}
    assert ask("GET", "/assets/none").status == 429
    assert Asker(ask.app, "127.0.0.2")("GET", "/assets/none").status == 404


@pytest.mark.parametrize(
    "path",
    [
        "/assets/../words.py", "/assets/V/../../words.py", "/assets/V/..%2f..%2fwords.py",
        "/assets/V//etc/passwd", "/assets/V/%2e%2e/serve.py", "/assets/V/live.html",
        "/assets/V/", "/assets/other/live.js", "/assets/V/live.js/", "/assets/V/.",
    ],
)  # fmt: skip
def test_no_path_leads_out_of_the_assets(ask: Asker, path: str) -> None:
    """Files are found by name in a list; there is no folder to climb out of."""
    from snapgloss.web.static import ASSETS

    got = ask("GET", path.replace("V", ASSETS.version))
    assert got.status == 404
    assert b"import" not in got.body
    assert ask("GET", ASSETS.url("live.js")).status == 200


def test_every_answer_carries_the_headers(ask: Asker) -> None:
    """Good ones and refusals alike: no outside origin, no framing, nothing guessed or kept."""
    for got in (
        ask("GET", "/api/state"), ask("GET", "/api/state", host="evil"), ask("GET", "/api/none"),
        ask.command("off"), ask("GET", "/api/off"), ask("POST", "/api/off", b"", headers={}),
    ):  # fmt: skip
        policy = got.headers["content-security-policy"]
        assert policy.startswith("default-src 'self'; ")
        assert "http" not in policy and "*" not in policy and "'unsafe-inline'; img" in policy
        assert "script-src 'self' 'nonce-" in policy
        assert "frame-ancestors 'none'" in policy
        assert got.headers["x-content-type-options"] == "nosniff"
        assert got.headers["cache-control"] == "no-store"
        assert not [name for name in got.headers if name.startswith("access-control")]


def test_only_pages_with_forms_may_make_code_of_text(
    rules: Rules, audit: Audit, clock: HandClock, ask: Asker
) -> None:
    """Neither the record, nor the rig, nor what is refused or not there."""
    from snapgloss.web.pages.registry import FORMS, PAGES

    asker = Asker(Gate(ask.app._app, rules._replace(forms=FORMS), audit, clock))
    paths = [*(page.path for page in PAGES), "/history?batch=1", "/nothing", "/api/state"]
    found = {path: asker("GET", path).headers["content-security-policy"] for path in paths}
    wide = [path for path, policy in found.items() if "'unsafe-eval'" in policy]
    assert wide == ["/", "/before", "/after"]


def test_no_script_of_ours_makes_code_of_text() -> None:
    """The policy lets it, for the sake of NiceGUI's templates; ours need not."""
    from snapgloss.web.static import ASSETS

    ours = {name: body.decode() for name, body in ASSETS.all.items()
            if name.endswith(".js") and name != "uplot.js"}  # fmt: skip
    assert len(ours) > 10
    makers = re.compile(
        r"\beval\b|new Function|innerHTML|outerHTML|insertAdjacentHTML|document\.write"
    )
    assert {name: makers.findall(text) for name, text in ours.items() if makers.search(text)} == {}


def test_each_answer_has_a_nonce_of_its_own(ask: Asker) -> None:
    """A nonce that could be foreseen would be none."""
    found = {ask("GET", "/api/state").headers["content-security-policy"] for _ in range(20)}
    assert len(found) == 20


def test_a_header_of_the_app_that_opens_it_is_dropped(
    rules: Rules, audit: Audit, clock: HandClock
) -> None:
    """An app inside may not let other origins in, nor say what it runs on."""

    async def open_app(_scope: Any, _receive: Any, send: Any) -> None:
        headers = [(b"Access-Control-Allow-Origin", b"*"), (b"Server", b"x"), (b"x-own", b"y")]
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        await send({"type": "http.response.body", "body": b""})

    got = Asker(Gate(open_app, rules, audit, clock))("GET", "/x")
    assert "access-control-allow-origin" not in got.headers
    assert "server" not in got.headers
    assert got.headers["x-own"] == "y"


# --- sockets ---


def socket_of(
    app: Any, headers: dict[str, str], messages: list[Any] | None = None
) -> list[dict[str, Any]]:
    """Open a socket; give what the app sent."""
    sent: list[dict[str, Any]] = []
    waiting = [{"type": "websocket.connect"}, *(messages or [])]

    async def receive() -> Any:
        return waiting.pop(0) if waiting else {"type": "websocket.disconnect", "code": 1000}

    async def send(message: Any) -> None:
        sent.append(message)

    scope = {
        "type": "websocket", "path": "/_nicegui_ws/socket.io/", "client": ("127.0.0.1", 1),
        "headers": [(k.encode(), v.encode()) for k, v in headers.items()],
    }  # fmt: skip
    asyncio.run(app(scope, receive, send))
    return sent


async def echo(_scope: Any, receive: Any, send: Any) -> None:
    """A socket that answers each message."""
    while (message := await receive())["type"] != "websocket.disconnect":
        if message["type"] == "websocket.connect":
            await send({"type": "websocket.accept"})
        else:
            await send({"type": "websocket.send", "text": "heard"})


@pytest.fixture
def socket_gate(rules: Rules, audit: Audit, clock: HandClock) -> Gate:
    """The gate round a socket that answers."""
    return Gate(echo, rules, audit, clock)


@pytest.mark.parametrize(
    "headers",
    [
        {"host": HOST}, {"host": HOST, "origin": "null"},
        {"host": HOST, "origin": "http://evil.example"},
        {"host": "evil.example", "origin": "http://evil.example"},
        {"host": HOST, "origin": ORIGIN, "sec-fetch-site": "cross-site"},
    ],
)  # fmt: skip
def test_a_socket_of_another_origin_is_closed(socket_gate: Gate, headers: dict[str, str]) -> None:
    """NiceGUI's own socket would answer any origin; it is never asked."""
    assert socket_of(socket_gate, headers) == [{"type": "websocket.close", "code": 1008}]
    ours = {"host": HOST, "origin": ORIGIN}
    assert socket_of(socket_gate, ours) == [{"type": "websocket.accept"}]


def test_a_socket_that_says_too_much_is_closed(socket_gate: Gate) -> None:
    """By the number of its messages, and by the size of one."""
    ours, word = {"host": HOST, "origin": ORIGIN}, {"type": "websocket.receive", "text": "a"}
    sent = socket_of(socket_gate, ours, [word] * (limits.MESSAGES.burst + 9))
    assert sent[-1] == {"type": "websocket.close", "code": 1008}
    assert len(sent) == limits.MESSAGES.burst + 2
    large = {"type": "websocket.receive", "bytes": b" " * (limits.MESSAGE_MOST_BYTES + 1)}
    assert socket_of(socket_gate, ours, [large])[-1]["code"] == 1009


# --- the key ---


@pytest.fixture
def lan(site: Site, audit: Audit, clock: HandClock, ask: Asker) -> Asker:
    """A tablet of the local network."""
    doors = Doors(["127.0.0.1", "192.168.1.5"], 8750)
    gate = Gate(ask.app._app, Rules(doors, Access(TOKEN)), audit, clock)
    return Asker(gate, "192.168.1.20")


TABLET = {"host": "192.168.1.5:8750", "origin": "http://192.168.1.5:8750"}


@pytest.mark.parametrize(
    "more",
    [
        {}, {"cookie": f"{COOKIE}=wrong"}, {"cookie": f"{COOKIE}={TOKEN}"},
        {"authorization": "Bearer wrong"}, {"cookie": "=;=;,"},
    ],
)  # fmt: skip
@pytest.mark.parametrize(
    ("method", "path"),
    [("GET", "/api/state"), ("GET", "/"), ("POST", "/api/off"), ("POST", "/api/note")],
)
def test_without_its_key_nothing_is_let_in(
    lan: Asker, rig: ScriptedRig, more: dict[str, str], method: str, path: str
) -> None:
    """No key, a wrong one, and the token itself where its cookie belongs."""
    assert lan(method, path, b"{}", headers={**TABLET, **JSON, **more}).status == 401
    assert offs(rig) == 0


def test_the_link_shows_a_button_and_its_press_lets_in(
    lan: Asker, rig: ScriptedRig, lines: Callable[[], list[str]]
) -> None:
    """Looking at the link gives no cookie; posting the key does, and it is enough from then on."""
    looked = lan("GET", f"/enter/{TOKEN}", headers={"host": TABLET["host"]})
    assert looked.status == 200
    assert "set-cookie" not in looked.headers
    assert b'<form method="post" action="/enter">' in looked.body
    form = {"content-type": "application/x-www-form-urlencoded"}
    entered = lan("POST", "/enter", f"key={TOKEN}".encode(), headers={**TABLET, **form})
    assert (entered.status, entered.headers["location"]) == (303, "/")
    cookie = entered.headers["set-cookie"]
    assert "HttpOnly" in cookie and "SameSite=Strict" in cookie and "Path=/;" in cookie
    assert TOKEN not in cookie
    has_key = {**TABLET, **JSON, "cookie": cookie.partition(";")[0]}
    assert lan("GET", "/api/state", headers=has_key).status == 200
    assert lan("POST", "/api/off", b"{}", headers=has_key).status == 200
    assert offs(rig) == 1
    assert any("192.168.1.20  enter  let in" in line for line in lines())


def test_a_wrong_key_looks_the_same_until_it_is_posted(lan: Asker) -> None:
    """The link is no way to try keys."""
    wrong = "w" * 43
    right = lan("GET", f"/enter/{TOKEN}", headers=TABLET)
    other = lan("GET", f"/enter/{wrong}", headers=TABLET)
    assert right.body.replace(TOKEN.encode(), b"") == other.body.replace(wrong.encode(), b"")


def test_markup_in_a_link_is_text(lan: Asker) -> None:
    """What a link carries is escaped."""
    shown = lan("GET", '/enter/"><script>alert(1)</script>aaaaaaaaaaaaaaaa', headers=TABLET)
    assert b"<script" not in shown.body


def test_trying_keys_ends_soon(lan: Asker, clock: HandClock) -> None:
    """Ten wrong ones, then 429; half a minute later one more try. The right one opens anyway."""
    form = {"content-type": "application/x-www-form-urlencoded", **TABLET}
    found = [lan("POST", "/enter", b"key=" + b"x" * 43, headers=form).status for _ in range(12)]
    assert found == [401] * limits.FAILURES.burst + [429] * 2
    clock.at_s += 31
    again = [lan("POST", "/enter", b"key=" + b"y" * 43, headers=form).status for _ in range(2)]
    assert again == [401, 429]
    assert lan("POST", "/enter", f"key={TOKEN}".encode(), headers=form).status == 303


def test_who_has_the_key_is_not_shut_out_by_guesses_from_the_same_address(
    lan: Asker, rig: ScriptedRig
) -> None:
    """Behind one address there may be two devices: off and looking go on."""
    guess = {"host": TABLET["host"], "authorization": "Bearer " + "w" * 43, **JSON}
    found = [lan("GET", "/api/state", headers=guess).status for _ in range(12)]
    assert found == [401] * limits.FAILURES.burst + [429] * 2
    right = {"host": TABLET["host"], "authorization": f"Bearer {TOKEN}", **JSON}
    assert lan("GET", "/api/state", headers=right).status == 200
    assert lan("POST", "/api/off", b"{}", headers=right).status == 200
    assert offs(rig) == 1


def test_a_page_left_open_with_an_old_key_does_not_shut_the_door(lan: Asker) -> None:
    """Its stream asks for minutes; then its person opens the new link."""
    old = {**TABLET, "cookie": "snapgloss=" + "0" * 64}
    found = {lan("GET", "/api/state", headers=old).status for _ in range(40)}
    assert found == {401}
    assert lan("GET", f"/enter/{TOKEN}", headers=old).status == 200
    form = {"content-type": "application/x-www-form-urlencoded", **old}
    assert lan("POST", "/enter", f"key={TOKEN}".encode(), headers=form).status == 303


def test_off_on_this_computer_needs_no_key(lan: Asker, rig: ScriptedRig) -> None:
    """Anybody at the computer may say off, and nothing else."""
    here = Asker(lan.app, "127.0.0.1")
    own = {"host": HOST, "origin": ORIGIN, **JSON}
    assert here("POST", "/api/off", b"{}", headers=own).status == 200
    assert offs(rig) == 1
    assert here("POST", "/api/note", b'{"words":"a"}', headers=own).status == 401


def test_a_program_shows_its_key_in_a_header(lan: Asker) -> None:
    """It has no origin to show."""
    program = {"host": TABLET["host"], "authorization": f"Bearer {TOKEN}", **JSON}
    assert lan("POST", "/api/lead", b"{}", headers=program).status == 200


def test_a_socket_needs_the_key_too(rules: Rules, audit: Audit, clock: HandClock) -> None:
    """An origin that is right is not enough."""
    access = Access(TOKEN)
    gate = Gate(echo, rules._replace(access=access), audit, clock)
    ours = {"host": HOST, "origin": ORIGIN}
    assert socket_of(gate, ours)[0]["type"] == "websocket.close"
    ours["cookie"] = access.set_cookie.partition(";")[0]
    assert socket_of(gate, ours)[0]["type"] == "websocket.accept"


def test_the_key_is_kept_for_its_owner_alone(tmp_path: Any) -> None:
    """256 random bits, readable by nobody else, the same after a new start, another on wish."""
    first = access_in(tmp_path)
    assert len(first.token) >= 43
    assert (tmp_path / "page-key").stat().st_mode & 0o777 == 0o600
    assert access_in(tmp_path).token == first.token
    assert access_in(tmp_path, anew=True).token != first.token
    with pytest.raises(ValueError, match="128"):
        Access("short")


def test_refusals_and_commands_are_written_down(
    ask: Asker, lines: Callable[[], list[str]]
) -> None:
    """Who, what and how it ended, on one line each, whatever they hold."""
    ask("GET", "/api/state", host="evil")
    ask.command("off", x_snapgloss_page="ab12\n\rcd<b>")
    assert lines() == [
        "2027-01-15T08:00:00Z  127.0.0.1  GET /api/state  refused 403",
        "2027-01-15T08:00:00Z  127.0.0.1 ab12cdb  off  Everything was off already.",
    ]


def test_an_audit_that_cannot_be_written_stops_no_off(
    ask: Asker, rig: ScriptedRig, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full disk must not keep the heat on."""

    def full(*_args: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Audit, "_write", full)
    assert ask.command("off").status == 200
    assert offs(rig) == 1


def test_names_of_the_network_are_listed(monkeypatch: pytest.MonkeyPatch) -> None:
    """The loopback names, this computer's own address, and the one that was given."""
    monkeypatch.setattr("snapgloss.web.gate.doors._own_addresses", lambda: ["192.168.1.5"])
    doors = lan_doors(8750, "kitchen.example")
    known = {"127.0.0.1:8750", "localhost:8750", "192.168.1.5:8750", "kitchen.example:8750"}
    assert known <= doors.hosts
    assert doors.first == "http://kitchen.example:8750"
    assert doors.origins == {f"http://{host}" for host in doors.hosts}
    assert json.dumps(sorted(doors.hosts)).count("*") == 0
