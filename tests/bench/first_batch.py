"""How long a person waits: for `snapgloss try`, and for `snapgloss --help`.

    python tests/bench/first_batch.py --json

Wall seconds of a whole batch of 2 kg in a folder of its own (20 at most are asked for), and CPU
milliseconds of the help (150 at most). The least of three, for other programs only ever add.
"""

import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

SAY = "from snapgloss.cli.main import main; main()"
TIMES = 3


def _run(*arguments: str) -> None:
    command = [sys.executable, "-c", SAY, *arguments]
    subprocess.run(command, check=True, capture_output=True)


def try_wall_s() -> float:
    """One batch."""
    with tempfile.TemporaryDirectory() as folder:
        began_s = time.monotonic()
        _run("--data", str(Path(folder) / "data"), "try", "--json")
        return time.monotonic() - began_s


def help_cpu_ms() -> float:
    """One page of help."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    _run("--help")
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return 1000 * (after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)


if __name__ == "__main__":
    print(json.dumps({
        "try_wall_s": round(min(try_wall_s() for _ in range(TIMES)), 2),
        "help_cpu_ms": round(min(help_cpu_ms() for _ in range(TIMES))),
    }))  # fmt: skip
