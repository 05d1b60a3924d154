"""The command that serves the page: what it refuses, and what it says."""

import socket
from typing import Any

import pytest

from snapgloss.cli import serve as command
from snapgloss.web.serve import Served


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--port", "/dev/x", "--virtual"), "--port and --virtual are two rigs."),
        (("--speed", "60"), "--speed is for a simulated rig."),
        (("--virtual", "--speed", "0"), "The speed '0' is not a number"),
        (("--name", "kitchen"), "--name and --new-key go with --lan."),
        (("--new-key",), "--name and --new-key go with --lan."),
    ],
)
def test_what_does_not_go_together_is_refused(
    call: Any, arguments: tuple[str, ...], said: str
) -> None:
    """Before anything is opened."""
    done = call("serve", *arguments)
    assert done.code == 2
    assert said in done.err


@pytest.mark.enable_socket
def test_a_busy_port_is_a_sentence(call: Any) -> None:
    """Another program has it; no rig is started for nothing."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = str(other.getsockname()[1])
        done = call("serve", "--port", "/dev/no-rig", "--page-port", port)
    assert done.code == 2
    assert f"The port {port} of this computer is busy." in done.err
    assert "--page-port" in done.err


def test_where_the_page_is_stands_on_stdout(capsys: pytest.CaptureFixture[str]) -> None:
    """For a person with the code to scan, the warning beside; for a program as one line."""
    found = Served("http://127.0.0.1:8750", "http://192.168.1.5:8750/enter/" + "k" * 43)
    command._say(found, False)
    told = capsys.readouterr()
    assert "The page is at http://127.0.0.1:8750" in told.out
    assert found.link in told.out
    assert "\u2588" in told.out or "\u2580" in told.out, "no code to scan"
    assert "unencrypted" in told.err
    command._say(Served("http://127.0.0.1:8750", ""), True)
    assert capsys.readouterr().out == '{"url": "http://127.0.0.1:8750", "link": null}\n'
