"""The virtual rig as a process of its own, that ends with the process that started it."""

import argparse
import json
import os
import signal
import stat
import sys
import threading
from collections.abc import Sequence
from dataclasses import fields, replace
from pathlib import Path
from types import FrameType
from typing import Any

from snapgloss.base.errors import InputError, SnapglossError
from snapgloss.virtual.faults import parse_fault
from snapgloss.virtual.handling import parse_handling
from snapgloss.virtual.pacing import speed_factor
from snapgloss.virtual.plant import PlantSetup
from snapgloss.virtual.rig import RigOptions, VirtualRig

_CHUNK = 4096


def parser() -> argparse.ArgumentParser:
    """The options of `python -m snapgloss.virtual`."""
    known = argparse.ArgumentParser(
        prog="python -m snapgloss.virtual",
        description="A simulated rig with the real firmware, behind a port of its own. The first "
        "line it prints is JSON: port, interpreter, pid.",
    )
    add = known.add_argument
    add("--mass-g", type=float, help="chocolate in the bowl, grams")
    add("--room-c", type=float, help="room, degrees Celsius")
    add("--start-c", type=float, help="chocolate at the start, degrees Celsius")
    add("--liquid", action="store_true", help="the chocolate is already liquid")
    add("--seed", type=int, help="seed of the probes' noise")
    add("--speed", default="60", help="simulated seconds per second in a batch, or max")
    add("--fault", action="append", default=[], help="hazard, such as probe_out@3600")
    add("--handling", default="", help="hands at the bowl, such as lift@600-640; pedal@700")
    add("--by-hand", default="", help="temper beside the rig, such as 'dark cooled'")
    add("--setup", help="JSON object of the simulated bowl's figures")
    add("--config", default="", help="the rig's description, one line")
    add("--stdin", action="store_true", help="take setup and config as JSON, first line of stdin")
    add("--modules", action="store_true", help="report the hash of every firmware file that ran")
    add("--tap", type=Path, metavar="FILE", help="write every row of the journal to this file")
    add("--socket", action="store_true", help="a loopback TCP port, not a pseudo-terminal")
    return known


def setup_from(figures: dict[str, Any]) -> PlantSetup:
    """The simulated bowl of a JSON object. Raises InputError for an unknown or unfit figure."""
    known = {field.name for field in fields(PlantSetup)}
    for name, value in figures.items():
        if name not in known or not (value is None or isinstance(value, (int, float))):
            raise InputError(
                f"The simulated bowl has no figure {name!r} with the value {value!r}.",
                f"There are: {', '.join(sorted(known))}.",
            )
    return PlantSetup(**figures)


def options_from(arguments: argparse.Namespace, first_line: bytes) -> RigOptions:
    """One rig's options; those of the command line win over those of stdin. Raises InputError."""
    try:
        sent = json.loads(first_line or b"{}")
        figures = {**sent.get("setup", {}), **json.loads(arguments.setup or "{}")}
    except (ValueError, AttributeError, TypeError):
        raise InputError("The set-up is not a JSON object.", "See --help.") from None
    setup = setup_from(figures)
    chosen: dict[str, Any] = {
        name: getattr(arguments, name)
        for name in ("mass_g", "room_c", "start_c", "seed")
        if getattr(arguments, name) is not None
    }
    if arguments.liquid:
        chosen["solid"] = False
    return RigOptions(
        setup=replace(setup, **chosen),
        speed=speed_factor(arguments.speed),
        config_text=arguments.config or str(sent.get("config", "")),
        faults=tuple(parse_fault(text) for text in arguments.fault),
        handling=parse_handling(arguments.handling),
        with_modules=arguments.modules,
        over_socket=arguments.socket,
        by_hand=arguments.by_hand,
        tap=arguments.tap,
    )


def read_line(fd: int) -> bytes:
    """The first line of `fd`; a parent sends nothing after it."""
    data = b""
    while b"\n" not in data:
        more = os.read(fd, _CHUNK)
        if not more:
            break
        data += more
    return data.partition(b"\n")[0]


def _has_parent_on(fd: int) -> bool:
    """True when stdin is a pipe or socket, whose end means that the parent has gone."""
    mode = os.fstat(fd).st_mode
    return stat.S_ISFIFO(mode) or stat.S_ISSOCK(mode)


def _end_with_parent(fd: int, rig: VirtualRig) -> None:
    while os.read(fd, _CHUNK):  # what a parent sends later means nothing
        pass
    rig.end()


def introduction(rig: VirtualRig) -> str:
    """The first line printed."""
    facts: dict[str, object] = {
        "port": rig.port,
        "interpreter": rig.words,
        "pid": os.getpid(),
        "simulated": True,
    }
    if "modules" in rig.report:
        facts["modules"] = rig.report["modules"]
    return json.dumps(facts)


def serve(options: RigOptions, watch_stdin: bool) -> None:
    """Run one rig until SIGTERM, SIGINT or the end of the parent; leave nothing behind."""
    ended = threading.Event()
    rigs: list[VirtualRig] = []

    def end(_signal: int, _frame: FrameType | None) -> None:
        ended.set()
        for running in rigs:
            running.end()

    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, end)
    rig = VirtualRig(options)
    rigs.append(rig)
    try:
        sys.stdout.write(introduction(rig) + "\n")
        sys.stdout.flush()
        if watch_stdin:
            threading.Thread(target=_end_with_parent, args=(0, rig), daemon=True).start()
        if not ended.is_set():
            rig.run()
    finally:
        rig.stop()


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; returns the exit code. Errors are sentences on stderr."""
    chosen = parser().parse_args(arguments)
    try:
        first_line = read_line(0) if chosen.stdin else b""
        serve(options_from(chosen, first_line), watch_stdin=_has_parent_on(0))
    except SnapglossError as error:
        sys.stderr.write(f"{error}\n")
        return error.exit_code
    return 0
