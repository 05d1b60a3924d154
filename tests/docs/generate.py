"""Writes the parts of the documents that are made from data: `python tests/docs/generate.py`.

With `--check` nothing is written; the exit code is 1 and the stale blocks are named.
"""

import argparse
import re
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
HAZARDS = ROOT / "protocol" / "rigwire" / "hazards.toml"


def hazard_rows(path: Path = HAZARDS) -> list[dict]:
    """The hazards in the order of the file, each a dict of its keys."""
    return tomllib.loads(path.read_text(encoding="utf-8"))["hazard"]


def limit_values(names: list[str]) -> str:
    """The firmware's own limits by name, "PROBE_STALE_MS = 2000"; KeyError for an unknown name."""
    if not names:
        return ""
    import rigfw.limits

    return ", ".join(f"`{name}` = {vars(rigfw.limits)[name]}" for name in names)


def _hazard_line(row: dict) -> str:
    bound = "; ".join(part for part in (row["bound"], limit_values(row["limits"])) if part)
    proof = "<br>".join(f"`{test}`" for test in row["tests"])
    cells = (
        f"{row['what']}. *{row['harm']}.*",
        row["answer"],
        f"{bound} ({row['source']})",
        row["barrier"],
        row["status"] + (f"<br>{proof}" if proof else ""),
    )
    return "| " + " | ".join(cells) + " |"


def hazard_table() -> str:
    """SAFETY.md's table, one line a hazard."""
    head = "| Hazard | The rig's answer | Bound (source) | Barrier without firmware | Status |"
    return "\n".join([head, "|---|---|---|---|---|", *map(_hazard_line, hazard_rows())])


LIMIT = re.compile(r"^([A-Z][A-Z0-9_, ]*) = (.+?)(?:\s+# (.+))?$")


def limits_table() -> str:
    """Every limit of the firmware with its value and the reason beside it."""
    import rigfw.limits

    source = (ROOT / "firmware" / "rigfw" / "limits.py").read_text(encoding="utf-8")
    rows, group = [], ""
    for line in source.splitlines():
        if line.startswith("# "):
            group = line[2:].rstrip(".")
        match = LIMIT.match(line)
        if match:
            for name in match[1].split(", "):
                value = vars(rigfw.limits)[name]
                rows.append(f"| `{name}` | {value} | {match[3] or group} |")
    return "\n".join(["| Limit | Value | Why |", "|---|---|---|", *rows])


BLOCKS: tuple[tuple[str, str, Callable[[], str]], ...] = (
    ("SAFETY.md", "hazards", hazard_table),
    ("SAFETY.md", "limits", limits_table),
)


def with_block(text: str, name: str, body: str) -> str:
    """`text` with what lies between the two `name` marks replaced; ValueError without marks."""
    marks = re.compile(rf"(<!-- {name}:begin[^>]*-->\n).*?(<!-- {name}:end -->)", re.DOTALL)
    new, count = marks.subn(lambda m: f"{m[1]}{body}\n{m[2]}", text)
    if count != 1:
        raise ValueError(f"{count} blocks named {name}, one expected")
    return new


def stale_blocks(write: bool, root: Path = ROOT) -> list[str]:
    """The blocks that differ from what the data gives, "file: name"; `write` mends them."""
    stale = []
    for file, name, make in BLOCKS:
        path = root / file
        text = path.read_text(encoding="utf-8")
        fresh = with_block(text, name, make())
        if fresh != text:
            stale.append(f"{file}: {name}")
            if write:
                path.write_text(fresh, encoding="utf-8")
    return stale


def main() -> int:
    """Exit code 1 when `--check` finds a stale block."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true")
    check = parser.parse_args().check
    stale = stale_blocks(write=not check)
    for block in stale:
        sys.stdout.write(f"{block} {'is stale' if check else 'written'}\n")
    return int(check and bool(stale))


if __name__ == "__main__":
    raise SystemExit(main())
