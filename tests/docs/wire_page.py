"""Write the generated parts of protocol/WIRE.md from rigwire; `--check` only compares.

python tests/docs/wire_page.py [--check]
"""

import re
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from made_page import keep
from rigwire import messages, schedule, states, tables, views

PAGE = Path(__file__).parents[2] / "protocol" / "WIRE.md"
BLOCK = re.compile(r"<!-- generated: ([^\n]*) -->\n.*?<!-- end -->", re.S)
ARROW = {messages.TO_DEVICE: "host to device", messages.TO_HOST: "device to host"}
STEP_STATES = tuple(states.STEP_STATE.values())


def table(head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A Markdown table."""
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(str(cell) for cell in row) + " |" for row in lines)


def _field(field: tuple[str, str, int, int]) -> list[object]:
    name, unit, low, high = field
    if unit == "text":
        return [f"`{name}`", "text", f"{low} to {high} bytes"]
    return [f"`{name}`", unit or "number", f"{low} to {high}"]


def message_block(*names: str) -> str:
    """Each named message with its values."""
    parts = []
    for name, direction, fields, group, most, purpose in views.TABLE:
        if name not in names:
            continue
        parts.append(f"**`{name}`** ({ARROW[direction]}). {purpose}")
        if fields:
            parts.append(table(["value", "unit", "range"], map(_field, fields)))
        if group:
            columns = ", ".join(f"`{field[0]}`" for field in group)
            parts.append(f"Then 0 to {most} rows of {columns}.")
    return "\n\n".join(parts)


def schedule_block() -> str:
    """The limits of a schedule."""
    limits = [
        ("steps", "1", schedule.MAX_STEPS),
        ("name, characters", "1", schedule.MAX_NAME),
        ("`mass_g`", *schedule.MASS_G),
        ("`ceiling_mc`", *schedule.TARGET_MC),
        ("`target_mc`", schedule.TARGET_MC[0], "the ceiling"),
        ("`target_mc` of a melt", schedule.MELT_LEAST_MC, "the ceiling"),
        ("`wall_mc`", "the greatest target", schedule.WALL_MOST_MC),
        ("`creep_mc_per_h`", "0", schedule.CREEP_MOST_MC_PER_H),
        ("`creep_to_mc`", "the target", "the ceiling"),
        ("`hold_s`", *schedule.HOLD_S),
        ("`wait_s`", *schedule.WAIT_S),
        ("`rate_mc_per_min`", *schedule.RATE_MC_PER_MIN),
        ("`grams` of seed", 0, schedule.MASS_G[1]),
        ("all holds and waits together, s", 0, schedule.MAX_TOTAL_S),
    ]
    words = ", ".join(f"`{word}`" for word in tables.METHODS)
    starts = ", ".join(f"`{word}`" for word in tables.START_STATES)
    kinds = ", ".join(f"`{word}`" for word in tables.STEP_KINDS)
    return (
        table(["what", "least", "most"], limits)
        + f"\n\nMethods: {words}. Start states: {starts}. Kinds of step: {kinds}."
    )


def diagram() -> str:
    """The table as a Mermaid diagram; the six step states are one box, `off` and `fault` apart."""
    grouped: dict[tuple[str, str], list[str]] = {}
    for state, event, after in views.TRANSITIONS:
        if event in ("off", "fault"):
            continue
        source = "step" if state in STEP_STATES else state
        target = "step" if after in STEP_STATES else after
        label = "step event" if target == "step" else event
        labels = grouped.setdefault((source, target), [])
        if label not in labels:
            labels.append(label)
    lines = [f"    {a} --> {b}: {', '.join(labels)}" for (a, b), labels in grouped.items()]
    inside = "\n".join(f"        {name}" for name in STEP_STATES)
    head = [
        "```mermaid",
        "stateDiagram-v2",
        "    [*] --> off",
        "    state step {",
        inside,
        "    }",
    ]
    return "\n".join([*head, *lines, "```"])


def states_block() -> str:
    """Diagram and table of the states."""
    cells: dict[tuple[str, str], str] = {(s, e): after for s, e, after in views.TRANSITIONS}
    rows = [
        [
            f"`{state}`",
            ", ".join(f"{e} → {cells[state, e]}" for e in states.EVENTS if (state, e) in cells),
        ]
        for state in states.STATES
    ]
    stay = " and ".join(
        f"`{s}`" for s in states.STATES if views.next_state(s, "off") == s != "off"
    )
    note = (
        f"Not drawn: `off` leads to `off` from every state but {stay}, which stay as they are; "
        "`fault` leads to `stopped` from every state but `locked`."
    )
    return "\n\n".join([diagram(), note, table(["state", "event → next state"], rows)])


def words_block() -> str:
    """The shared words and their numbers."""
    parts = []
    for title, words in (
        ("State", states.STATES),
        ("Kind of step", tables.STEP_KINDS),
        ("Prompt", tables.PROMPTS),
        ("Answered by", tables.ANSWERED_BY),
        ("Addition", tables.ADDITIONS),
    ):
        parts.append(f"**{title}**: " + ", ".join(f"{n} `{w}`" for n, w in enumerate(words)) + ".")
    events = [[n, f"`{row[0]}`", row[1], row[2]] for n, row in enumerate(views.EVENT_KINDS)]
    parts.append("**Events**\n\n" + table(["number", "kind", "a", "b"], events))
    stops = [[code, f"`{key}`", words] for code, key, words in views.STOPS]
    parts.append("**Stop codes**\n\n" + table(["code", "key", "words"], stops))
    flags = [[bit, f"`{name}`"] for bit, name in views.FLAGS]
    parts.append("**Flags of a reading**\n\n" + table(["bit", "flag"], flags))
    return "\n\n".join(parts)


BLOCKS: dict[str, Callable[..., str]] = {
    "messages": message_block,
    "schedule": schedule_block,
    "states": states_block,
    "words": words_block,
}


def generated(text: str) -> str:
    """The page with every block written anew."""

    def write(found: re.Match[str]) -> str:
        name, *arguments = found[1].split()
        body = BLOCKS[name](*arguments)
        return f"<!-- generated: {found[1]} -->\n\n{body}\n\n<!-- end -->"

    return BLOCK.sub(write, text)


def main() -> int:
    """Write the page, or with --check say whether it is up to date."""
    return keep(PAGE, generated)


if __name__ == "__main__":
    sys.exit(main())
