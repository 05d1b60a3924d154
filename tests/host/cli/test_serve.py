"""The command that serves the page: what it refuses, and what it says."""

import json
import socket
from pathlib import Path
from typing import Any

import pytest

from snapgloss.cli import serve as command
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.runs.known_rigs import add_rig, known_rigs
from snapgloss.web.serve import Served, ServeOptions, rigs_of


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--port", "/dev/x", "--virtual"), "--port and --on are not for simulated rigs."),
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


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("rigs", "--add", "a.toml"), "--add and --port go together."),
        (("rigs", "--add", "a.toml", "--port", "x", "--drop", "b"), "two things."),
        (("rigs", "--drop", "attic"), 'There is no rig "attic" here; known: none yet.'),
        (("off",), "Say which rig."),
        (("off", "--port", "x", "--on", "oven"), "Say which rig."),
        (("off", "--on", "oven"), 'There is no rig "oven" here; known: none yet.'),
        (("serve", "--on", "oven"), 'There is no rig "oven" here; known: none yet.'),
    ],
)
def test_a_rig_has_to_be_said_and_known(call: Any, arguments: tuple[str, ...], said: str) -> None:
    """Before anything is opened."""
    done = call(*arguments)
    assert done.code == 2
    assert said in done.err


def test_rigs_are_listed_by_name(call: Any, data: Path) -> None:
    """With their boards; and how the first one is added."""
    assert "No rig is known by name yet." in call("rigs").out
    add_rig(data, BENCH_RIG, "pico-1", "A", "")
    assert call("rigs").out == "bench rig  pico-1\n"
    shown = json.loads(call("rigs", "--json").out)
    assert shown == {"words": "", "rigs": [{"name": "bench rig", "board": "pico-1"}]}
    assert call("rigs", "--drop", "bench rig").code == 0
    assert known_rigs(data) == []


def test_rigs_to_be_served(data: Path) -> None:
    """Each port its own name; those that are known by their boards; else the one that is there."""
    with rigs_of(ServeOptions(data, BENCH_RIG, rig_ports=("A", "B"))) as rigs:
        assert [(at.name, at.find_port(), at.board) for at in rigs] == [
            ("bench rig 1", "A", ""), ("bench rig 2", "B", ""),
        ]  # fmt: skip
    add_rig(data, BENCH_RIG, "pico-1", "A", "")
    with rigs_of(ServeOptions(data, BENCH_RIG, known=tuple(known_rigs(data)))) as rigs:
        assert [(at.name, at.rig, at.board) for at in rigs] == [("bench rig", BENCH_RIG, "pico-1")]
    with rigs_of(ServeOptions(data, BENCH_RIG)) as rigs:
        assert [(at.name, at.board) for at in rigs] == [("bench rig", "")]
