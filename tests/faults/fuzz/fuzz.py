"""Fuzz one target, guided by the lines that an input reaches; needs the extra `fuzz`.

    python tests/faults/fuzz/fuzz.py --target frames --runs 1000000 --seed 1 --json

A crash is whatever is not a typed refusal: another exception, an assertion about what was taken,
an input that takes longer than 10 s, or memory over 300 MB. Its input is kept in the folder that
`--keep` names, and `--plain FILE` runs one again without atheris. `--plain-runs N` mutates the
first inputs blindly instead, in this process: what the tests do, on any Python.
"""

import argparse
import json
import random
import re
import subprocess
import sys
import tempfile
from pathlib import Path

RSS_MOST_MB = 300
"""Every target loads the whole program and its libraries."""
LONGEST_S = 10
DONE = re.compile(r"stat::number_of_executed_units:\s+(\d+)")
PEAK = re.compile(r"stat::peak_rss_mb:\s+(\d+)")
COVERED = re.compile(r"cov: (\d+)")
OURS = ["rigwire", "rigfw", "snapgloss"]


def one(name: str, data: bytes) -> bool:
    """Run a target once: True when it was accepted, False when refused. Raises what crashes it."""
    from targets import REFUSALS, TARGETS

    try:
        TARGETS[name].run(data)
    except REFUSALS:
        return False
    return True


def mutated(data: bytes, dice: random.Random, most: int) -> bytes:
    """A few bytes changed, dropped, doubled or put in."""
    found = bytearray(data)
    for _ in range(dice.choice((1, 1, 2, 4, 8))):
        at = dice.randrange(len(found) + 1)
        match dice.randrange(5):
            case 0:
                found[at : at + 1] = bytes([dice.randrange(256)])
            case 1:
                del found[at : at + dice.choice((1, 1, 4, 20))]
            case 2:
                found[at:at] = dice.choice(PIECES)
            case 3:
                piece = bytes(found[at : at + dice.choice((4, 16, 64))])
                found[at:at] = piece * dice.choice((1, 1, 2, 8))
            case 4:
                found[at : at + 4] = dice.choice(PIECES)
    return bytes(found[:most])


PIECES = (
    b"", b"\0", b"\n", b"\r\n", b'"', b"'", b"\\", b"[", b"]", b"{", b"}", b"=", b",", b".", b"-",
    b"0", b"-0", b"00", b"1e999", b"nan", b"inf", b"9" * 40, b"true", b"null", b"[[", b"\xff",
    b"\xc2\xb2", "٣".encode(), "°C".encode(), b" F", b" %", b"1979-05-27T07:32:00Z", b"#", b"|",
)  # fmt: skip


def blindly(name: str, runs: int, seed: int) -> dict[str, object]:
    """So many mutated inputs in this process. Raises what crashes the target."""
    from targets import TARGETS

    dice, target = random.Random(seed), TARGETS[name]
    seeds = target.seeds()
    accepted = sum(one(name, mutated(dice.choice(seeds), dice, target.most_bytes))
                   for _ in range(runs))  # fmt: skip
    return {"target": name, "runs": runs, "seed": seed, "accepted": accepted, "crashes": 0}


def child(name: str, flags: list[str]) -> None:
    """Fuzz in this process, which libFuzzer ends."""
    import atheris  # type: ignore[import-not-found,unused-ignore]

    with atheris.instrument_imports(include=OURS):
        from targets import REFUSALS, TARGETS

    run = TARGETS[name].run

    def guarded(data: bytes) -> None:
        try:
            run(data)
        except REFUSALS:
            return

    atheris.Setup([sys.argv[0], *flags], guarded)
    atheris.Fuzz()


def guided(name: str, runs: int, seed: int, keep: Path) -> dict[str, object]:
    """Fuzz in a process of its own. Its crash, if any, is left in `keep`."""
    from targets import TARGETS

    with tempfile.TemporaryDirectory(prefix="fuzz-corpus-") as corpus:
        for number, data in enumerate(TARGETS[name].seeds()):
            (Path(corpus) / f"seed-{number:03d}").write_bytes(data)
        keep.mkdir(parents=True, exist_ok=True)
        flags = [
            f"-runs={runs}", f"-seed={seed}", f"-rss_limit_mb={RSS_MOST_MB}",
            f"-timeout={LONGEST_S}", f"-max_len={TARGETS[name].most_bytes}",
            f"-artifact_prefix={keep}/{name}-", "-print_final_stats=1", corpus,
        ]  # fmt: skip
        call = [sys.executable, __file__, "--child", name, *flags]
        done = subprocess.run(call, stderr=subprocess.PIPE, text=True, check=False)
    said = done.stderr
    counted, peak, covered = (found.findall(said) for found in (DONE, PEAK, COVERED))
    if not counted and done.returncode == 0:
        raise RuntimeError(said[-2000:])
    return {
        "target": name,
        "runs": int(counted[-1]) if counted else 0,
        "seed": seed,
        "covered": int(covered[-1]) if covered else 0,
        "peak_rss_mb": int(peak[-1]) if peak else 0,
        "crashes": int(done.returncode != 0),
        "said": said[-3000:] if done.returncode else "",
    }


def main() -> int:
    """Fuzz and print what came of it; 1 after a crash."""
    if sys.argv[1:2] == ["--child"]:
        child(sys.argv[2], sys.argv[3:])
        return 0
    from targets import TARGETS

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--target", choices=[*TARGETS, "all"], default="all")
    parser.add_argument("--runs", type=int, default=100_000, help="of each target")
    parser.add_argument("--plain-runs", type=int, help="so many blind ones instead")
    parser.add_argument("--plain", type=Path, help="run this input once")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path, default=Path(tempfile.gettempdir()) / "fuzz-crashes")
    parser.add_argument("--json", action="store_true", help="print one JSON object a target")
    asked = parser.parse_args()
    if asked.plain:
        print("accepted" if one(asked.target, asked.plain.read_bytes()) else "refused")
        return 0
    crashes = 0
    for name in TARGETS if asked.target == "all" else [asked.target]:
        if asked.plain_runs is not None:
            found = blindly(name, asked.plain_runs, asked.seed)
        else:
            found = guided(name, asked.runs, asked.seed, asked.keep)
        crashes += int(str(found["crashes"]))
        print(json.dumps(found) if asked.json else found, flush=True)
    return int(crashes > 0)


if __name__ == "__main__":
    sys.exit(main())
