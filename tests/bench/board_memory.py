"""What the firmware takes of a Pico's heap, and what it leaves. Needs node; prints bytes.

    cd tests/board && npm ci          once: a 32-bit MicroPython for node
    python tests/bench/board_memory.py --json

The files are compiled as `snapgloss deploy` does and run on that MicroPython (1.27, WebAssembly).
Its objects are of 32 bits in blocks of 16 bytes as on an RP2040, so a module takes what it takes
there; but it is not the board: its floats are larger, its machine modules are stand-ins whose own
bytes are taken off, and the board's stack, interrupts and fragments are not in it. Not verified
on a board.
"""

import argparse
import ast
import base64
import json
import re
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "shared"))

import fw_fakes
from fw_onewire import rom_of
from rigfw.commissioned import proof_text
from rigfw.drivers.probelist import to_text
from rigfw.slots import to_slot
from snapgloss.link.compiler import compiled
from snapgloss.rigs.board_image import CODE_LIST, Image
from snapgloss.rigs.manifest import firmware_files, module_of

BOARD_FREE_BYTES = 241_000
"""Free after boot of a bare Pico, MicroPython 1.28.0: measured on an emulated RP2040."""
AIM_FREE_BYTES = 90_000
"""Own aim: room for what a pass allocates, for uploads, and for gaps between what stays."""
LEAST_FREE_BYTES = 86_000
"""What is held until every rig reaches the aim."""

FOLDER = "fw_a"
NODE_FOLDER = Path(__file__).parents[1] / "board"
PACKAGE = NODE_FOLDER / "node_modules/@micropython/micropython-webassembly-pyscript"
ROM, ROM_TOO = (f"ds18b20,{rom_of(number).hex()},0,0" for number in (1, 2))
RIGS = {
    # name: probes in the order of probelist.ROLES, changes to the description
    "usual": ((ROM, ROM_TOO, "-", "-"), {"has_room": 0, "has_sense": 1, "has_tacho": 1}),
    "every kind of probe": (
        (
            ROM,
            "ntc,1,10000,32554,10000,3606,0,0",
            "ntc_beta,2,10000,10000,3950,0,0",
            "pt100,1,430,3,50,0,0",
        ),
        {"has_sense": 1, "has_tacho": 1},
    ),
}
BASE = """
import sys
sys.path.append("/stubs")
import binascii, json
import framebuf, machine, onewire, os_too, select
sys.modules["os"] = os_too
"""
BOOT = """
import sys
sys.path.insert(0, "/fw_a")
from rigfw.pico import main, startup
startup.refuse_wrong_board = lambda: None  # this interpreter runs on no board
del startup
board, app = main.build()
assert not app.lock_words, app.lock_words
del main
"""


class NotHere(Exception):
    """Node or its MicroPython is not installed."""


def node() -> str:
    """The path of node. Raises NotHere with what to do."""
    found = shutil.which("node")
    if found is None:
        raise NotHere("There is no node on this computer: install nodejs and npm.")
    if not PACKAGE.is_dir():
        raise NotHere("The MicroPython for node is missing: run `npm ci` in tests/board.")
    return found


def boot_bytes(image: Image, rig: str) -> int:
    """In use after the boot of a rig of RIGS, journal and all, with nothing running yet."""
    return measured(flash(image, rig), [["boot", BOOT]])[0][1]


def module_bytes(image: Image) -> dict[str, int]:
    """What each module of the image adds when those that it imports are there already."""
    names = in_order({module_of(path): text for path, text in _sources().items()})
    begin = ["", 'import sys; sys.path.insert(0, "/fw_a")']
    found = measured(flash(image, "usual"), [begin, *[[name, f"import {name}"] for name in names]])
    sizes = [size for _, size in found]
    return {
        name: after - before for (name, after), before in zip(found[1:], sizes[:-1], strict=True)
    }


def shared_tests(files: Sequence[str]) -> list[str]:
    """Run every test of these files of tests/shared on this MicroPython, from the compiled image;
    their names. Raises RuntimeError with the first that fails."""
    folder = Path(fw_fakes.__file__).parent
    image = compiled(firmware_files(), keep_numbers=True, kept=names_in(folder))
    on_flash = flash(image, "usual")
    on_flash.update({f"/shared/{path.name}": path.read_bytes() for path in folder.glob("*.py")})
    begin = f'import sys; sys.path[:0] = ["/{FOLDER}", "/shared"]'
    parts = [["begin", begin]]
    for file in files:
        tree = ast.parse((folder / f"{file}.py").read_text("utf-8"))
        for one in tree.body:
            if isinstance(one, ast.FunctionDef) and one.name.startswith("test_"):
                parts.append([one.name, f"import {file}; {file}.{one.name}()"])
    return [name for name, _ in measured(on_flash, parts)[1:]]


def names_in(folder: Path) -> set[str]:
    """Every name that the Python files of a folder use: what tests may look up."""
    texts = [path.read_text("utf-8") for path in folder.glob("*.py")]
    return {name for text in texts for name in re.findall(r"[A-Za-z_]\w*", text)}


def measure() -> dict[str, object]:
    """All figures; bytes."""
    image = compiled(firmware_files())
    rigs = {
        name: {"in_use": used, "free": BOARD_FREE_BYTES - used}
        for name, used in ((name, boot_bytes(image, name)) for name in RIGS)
    }
    modules = module_bytes(image)
    return {
        "board_free": BOARD_FREE_BYTES,
        "aim_free": AIM_FREE_BYTES,
        "least_free": LEAST_FREE_BYTES,
        "after_boot": rigs,
        "modules_sum": sum(modules.values()),
        "modules": dict(sorted(modules.items(), key=lambda one: -one[1])),
        "verified_on_a_board": False,
    }


def _sources() -> dict[str, str]:
    return {path: source.read_text() for path, source in firmware_files().items()}


def _imported(source: str) -> list[str]:
    """The names that the top level of a module imports."""
    names = []
    for one in ast.parse(source).body:
        if isinstance(one, ast.Import):
            names += [alias.name for alias in one.names]
        elif isinstance(one, ast.ImportFrom) and one.module:
            names += [one.module, *[f"{one.module}.{alias.name}" for alias in one.names]]
    return names


def in_order(sources: dict[str, str]) -> list[str]:
    """Modules, each after those that it imports."""
    order: list[str] = []

    def visit(name: str) -> None:
        if name in order or name not in sources:
            return
        for wanted in [name.rpartition(".")[0], *_imported(sources[name])]:
            visit(wanted)
        order.append(name)

    for name in sorted(sources):
        visit(name)
    return order


def flash(image: Image, rig: str) -> dict[str, bytes]:
    """Everything on the board's flash, by its path."""
    probes, changes = RIGS[rig]
    line = fw_fakes.bench(**changes).to_text()
    files = {f"/{FOLDER}/{path}": data for path, data in image.files.items()}
    files[f"/{FOLDER}/{CODE_LIST}"] = image.code_list()
    files["/rig_a.txt"] = to_slot(1, line).encode()
    files["/probes.txt"] = to_text(probes).encode()
    files["/proof.txt"] = proof_text(line).encode()
    for stub in (NODE_FOLDER / "stubs").glob("*.py"):
        files[f"/stubs/{stub.name}"] = stub.read_bytes()
    return files


def measured(files: dict[str, bytes], parts: list[list[str]]) -> list[tuple[str, int]]:
    """Bytes in use after each part, those before the first taken off."""
    task = {
        "files": {path: base64.b64encode(data).decode() for path, data in files.items()},
        "parts": [["base", BASE], *parts],
    }
    done = subprocess.run(
        [node(), "measure.mjs"],
        cwd=NODE_FOLDER,
        input=json.dumps(task),
        capture_output=True,
        text=True,
        timeout=100,
        check=False,
    )
    if done.returncode:
        raise RuntimeError(done.stderr[:2000])
    (_, base), *found = json.loads(done.stdout)
    return [(name, size - base) for name, size in found]


def main() -> int:
    """Measure and print; 1 where a rig leaves less than the bound, 2 without node."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--json", action="store_true", help="all figures as JSON")
    wants_json = parser.parse_args().json
    try:
        figures = measure()
    except NotHere as missing:
        print(missing, file=sys.stderr)
        return 2
    if wants_json:
        print(json.dumps(figures, indent=2))
    else:
        for name, one in figures["after_boot"].items():
            print(f"{name}: {one['in_use']} bytes in use after boot, {one['free']} free")
    return int(any(one["free"] < AIM_FREE_BYTES for one in figures["after_boot"].values()))


if __name__ == "__main__":
    sys.exit(main())
