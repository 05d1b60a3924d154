"""Break each check of the firmware, one at a time, and see a test fail.

    python tests/faults/mutants.py --json                all of them, some 10 minutes of processor
    python tests/faults/mutants.py --module hot          those of one module
    python tests/faults/mutants.py --sample 40 --seed 1
    python tests/faults/mutants.py --module hot --own    its own tests alone: quick
    python tests/faults/mutants.py --only 17             show one, and what its tests say

How they are made: mutants_made.py. A mutant is killed when one of the shared tests of the firmware
fails on it: the module's own edge tests are asked first. Those of the board's own modules, in
tests/device, stand on stand-ins for MicroPython's. They run on this Python, in a copy of the
firmware. Before the first mutant they must pass on the firmware as it is. A mutant in EQUIVALENT
is run like any other, and must live. Prints the survivors; exit code 1 when there is one, or when
a test tells an equivalent one apart.
"""

import argparse
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))

from mutants_made import CHECKS, RIGFW, Mutant, all_mutants

ROOT = Path(__file__).parents[2]
SHARED = ROOT / "tests/shared"


ALSO = {
    "slots": ("proof",), "romsearch": ("bitslave",),
    "app": ("heap", "press", "testing", "interlocks", "proof", "resume", "commissioned", "hosts"),
    "windows": ("press", "testing", "resume", "proof"),
}  # fmt: skip
"""Files that carry another name."""
DEVICE = ("device/test_pico", "device/test_pico_fitted")
"""Of the modules that know the board; they ask for pytest and its fixtures."""


def own_tests(module: str) -> tuple[str, ...]:
    """The test files that carry the module's name, its edges first."""
    folder, _, name = module.rpartition("/")
    if folder == "pico":
        return DEVICE
    names = (f"edges_{name}", f"edges_{folder}", name, *ALSO.get(name, ()))
    return tuple(one for one in names if (SHARED / f"test_fw_{one}.py").exists())


EDGES = tuple(
    dict.fromkeys(name for one in CHECKS for name in own_tests(one) if name not in DEVICE)
)
TESTS = (
    "interlocks", "witness", "handling", "additions", "hot", "testing", "proof", "press", "batch",
    "heap", "link",
)  # fmt: skip
RUNNER = Path(__file__).parent / "first_failure.py"
PYTEST = (sys.executable, "-m", "pytest", "-c", os.devnull, "-x", "-q", "-p", "no:cacheprovider")
LONGEST_S = 240


def _fails(folder: str, names: tuple[str, ...], verbose: bool) -> bool:
    """Whether one of these test files fails in the copy. One that never ends fails, too."""
    modules = [f"test_fw_{name}" for name in names]
    command = [sys.executable, str(RUNNER), f"{folder}/shared", *modules]
    if names == DEVICE:
        command = [*PYTEST, *[f"{name}.py" for name in names]]
    paths = [folder, f"{folder}/shared", str(ROOT / "protocol")]
    try:
        done = subprocess.run(
            command, cwd=folder, capture_output=True, text=True, timeout=LONGEST_S, check=False,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(paths)},
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        print(f"no end after {LONGEST_S} s: {', '.join(names)}", file=sys.stderr)
        return True
    if verbose:
        print(done.stdout[-3000:])
    return done.returncode != 0


def is_noticed(
    module: str, text: str, groups: list[tuple[str, ...]], verbose: bool = False
) -> bool:
    """Whether a test of these groups of files fails when the module has this text."""
    with tempfile.TemporaryDirectory(prefix="mutant-") as folder:
        shutil.copytree(ROOT / "firmware/rigfw", Path(folder) / "rigfw")
        for name in ("shared", "device"):
            shutil.copytree(ROOT / "tests" / name, Path(folder) / name)
        (Path(folder) / "rigfw" / f"{module}.py").write_text(text, encoding="utf-8")
        return any(_fails(folder, names, verbose) for names in groups)


def survives(module: str, text: str, verbose: bool = False, is_own: bool = False) -> bool:
    """True when no test notices it. What fails soon is asked soon; each file has its own time.
    `is_own`: only the module's own tests are asked."""
    own = EDGES if module == "limits" else own_tests(module)
    if is_own or own == DEVICE:
        return not is_noticed(module, text, [own], verbose)
    rest = [name for name in (*EDGES, *TESTS) if name not in own]
    return not is_noticed(module, text, [own, *[(name,) for name in rest]], verbose)


def _is_sound() -> bool:
    """Whether all tests pass on the firmware as it is."""
    return survives("limits", (RIGFW / "limits.py").read_text(encoding="utf-8"))


def figures_of(mutants: list[Mutant], lives: list[bool]) -> dict[str, Any]:
    """What is reported. An equivalent mutant is neither killed nor a survivor."""
    both = list(zip(mutants, lives, strict=True))
    equal = [(one, is_alive) for one, is_alive in both if one.why_equivalent()]
    alive = [one.row() for one, is_alive in both if is_alive and not one.why_equivalent()]
    return {
        "mutants": len(mutants),
        "killed": len(mutants) - len(equal) - len(alive),
        "equivalent": [[*one.row(), one.why_equivalent()] for one, _is_alive in equal],
        "told_apart": [one.row() for one, is_alive in equal if not is_alive],
        "survivors": alive,
    }


def _run(mutants: list[Mutant], workers: int, is_own: bool) -> dict[str, Any]:
    begun_s = time.monotonic()
    lives = []
    with ThreadPoolExecutor(workers) as pool:
        answers = pool.map(lambda one: survives(one.module, one.text, is_own=is_own), mutants)
        for count, (mutant, is_alive) in enumerate(zip(mutants, answers, strict=True), 1):
            lives.append(is_alive)
            word = "equivalent" if mutant.why_equivalent() else "survives"
            said = f"{word}: {mutant.row()}\n" if is_alive else ""
            print(f"{said}{count} of {len(mutants)}", file=sys.stderr)
    return {**figures_of(mutants, lives), "wall_s": round(time.monotonic() - begun_s, 1)}


def main() -> int:
    """The command."""
    known = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    known.add_argument("--sample", type=int, default=0, help="so many at random; 0 = all")
    known.add_argument("--seed", type=int, default=1)
    known.add_argument("--only", type=int)
    known.add_argument("--module", choices=[*CHECKS, "limits"], help="those of one module")
    known.add_argument("--own", action="store_true", help="ask the module's own tests only")
    known.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    known.add_argument("--json", action="store_true")
    chosen = known.parse_args()
    mutants = all_mutants()
    if chosen.only is not None:
        mutant = mutants[chosen.only]
        print(mutant.row(), mutant.why_equivalent())
        return 1 if survives(mutant.module, mutant.text, True) else 0
    mutants = [one for one in mutants if chosen.module in (None, one.module)]
    if chosen.sample:
        mutants = random.Random(chosen.seed).sample(mutants, min(chosen.sample, len(mutants)))
    if not chosen.own and not _is_sound():
        print("the tests fail on the firmware as it is: nothing can be said", file=sys.stderr)
        return 2
    figures = _run(mutants, chosen.workers, chosen.own)
    print(json.dumps(figures) if chosen.json else json.dumps(figures, indent=1))
    return 1 if figures["survivors"] or figures["told_apart"] else 0


if __name__ == "__main__":
    sys.exit(main())
