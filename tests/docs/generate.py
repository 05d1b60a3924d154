"""Writes the parts of the documents that are made from data: `python tests/docs/generate.py`.

With `--check` nothing is written; the exit code is 1 and the stale blocks are named.
"""

import argparse
import re
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path

from rigwire.states import STEP_STATE, TRANSITIONS

ROOT = Path(__file__).resolve().parents[2]
HAZARDS = ROOT / "protocol" / "rigwire" / "hazards.toml"


def hazard_rows(path: Path = HAZARDS) -> list[dict]:
    """The hazards in the order of the file, each a dict of its keys."""
    return tomllib.loads(path.read_text(encoding="utf-8"))["hazard"]


def limit_values(names: list[str]) -> str:
    """The firmware's own limits by name, "PROBE_STALE_MS = 2000"; KeyError for an unknown name."""
    if not names:
        return ""
    import rigfw.limits  # noqa: PLC0415  (only rows with limits need the firmware)

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


def _leaving(state: str) -> set[tuple[str, str]]:
    return {(event, after) for old, event, after in TRANSITIONS if old == state}


def state_diagram() -> str:
    """The state table as a Mermaid diagram, with the six states of a step drawn as one.

    ValueError if a row treats them differently, since the drawing would then hide it. `off` and
    `fault` leave nearly every state and would hide the rest; the text beside it names them.
    """
    steps = tuple(STEP_STATE.values())
    if any(_leaving(state) != _leaving(steps[0]) for state in steps):
        raise ValueError("the states of a step have different ways out; draw them apart")
    arrows: dict[tuple[str, str], list[str]] = {}
    for state, event, after in TRANSITIONS:
        old, new = ("step" if end in steps else end for end in (state, after))
        why = arrows.setdefault((old, new), [])
        word = "melt .. work" if event in STEP_STATE else event
        if event not in ("off", "fault") and word not in why:
            why.append(word)
    lines = [f"    {old} --> {new}: {', '.join(why)}" for (old, new), why in arrows.items() if why]
    note = "    note right of step: " + ", ".join(steps)
    return "\n".join(["```mermaid", "stateDiagram-v2", "    [*] --> off", *lines, note, "```"])


BLOCKS: tuple[tuple[str, str, Callable[[], str]], ...] = (
    ("SAFETY.md", "hazards", hazard_table),
    ("DEVELOPERS.md", "states", state_diagram),
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
