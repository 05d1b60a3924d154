"""Start a virtual rig as a process of its own, and end it."""

import contextlib
import json
import select
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from snapgloss.base.errors import RigError
from snapgloss.virtual.plant import PlantSetup

_START_S = 30.0
_END_S = 5.0


@dataclass(frozen=True)
class SpawnOptions:
    """`speed` is a number or "max"; `faults` are texts such as `probe_out@3600`, `handling`
    one such as `lift@600-640; pedal@700`; `tap` is a file for every row of the journal; `by_hand`
    as in RigOptions."""

    setup: PlantSetup
    speed: str = "max"
    config_text: str = ""
    faults: Sequence[str] = ()
    handling: str = ""
    with_modules: bool = False
    tap: Path | None = None
    by_hand: str = ""


class VirtualRigProcess:
    """A running virtual rig; `.port` is what a host opens, `.interpreter` words about it.

    A context manager. The process also ends when this one does, however it does.
    Raises RigError when it does not start.
    """

    def __init__(self, options: SpawnOptions) -> None:
        command = [sys.executable, "-m", "snapgloss.virtual", "--stdin", "--speed", options.speed]
        for fault in options.faults:
            command += ["--fault", fault]
        if options.handling:
            command += ["--handling", options.handling]
        if options.tap is not None:
            command += ["--tap", str(options.tap)]
        if options.by_hand:
            command += ["--by-hand", options.by_hand]
        if options.with_modules:
            command.append("--modules")
        self._process = subprocess.Popen(
            command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            start_new_session=True,  # Ctrl-C is for the host, which ends the rig in its order
        )
        try:
            first = {"setup": asdict(options.setup), "config": options.config_text}
            facts = self._introduce(json.dumps(first).encode() + b"\n")
        except BaseException:
            self.close()
            raise
        self.port = str(facts["port"])
        self.interpreter = str(facts["interpreter"])
        self.pid = self._process.pid
        self.modules: dict[str, str] = facts.get("modules", {})  # type: ignore[assignment]

    def _introduce(self, first_line: bytes) -> Mapping[str, object]:
        stdin, stdout = self._process.stdin, self._process.stdout
        assert stdin is not None and stdout is not None
        with contextlib.suppress(BrokenPipeError):
            stdin.write(first_line)
            stdin.flush()
        line = b""
        deadline_s = time.monotonic() + _START_S
        while not line.endswith(b"\n") and time.monotonic() < deadline_s:
            if select.select([stdout], [], [], 0.1)[0]:
                piece = stdout.readline()
                if not piece:
                    break
                line += piece
        if not line.endswith(b"\n"):
            raise self._failure()
        facts: dict[str, object] = json.loads(line)
        return facts

    def _failure(self) -> RigError:
        self._process.kill()
        said = self._process.communicate()[1].decode(errors="replace").strip()
        return RigError(
            "The virtual rig did not start.", said or f"It said nothing within {_START_S:g} s."
        )

    def close(self) -> None:
        """End the process and wait for it. May be called again."""
        process = self._process
        if process.stdin is not None and not process.stdin.closed:
            with contextlib.suppress(BrokenPipeError):
                process.stdin.close()  # the rig ends when its parent's pipe does
        try:
            process.wait(_END_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        for stream in (process.stdout, process.stderr):
            if stream is not None:
                stream.close()

    def __enter__(self) -> "VirtualRigProcess":
        return self

    def __exit__(self, *_fault: object) -> None:
        self.close()
