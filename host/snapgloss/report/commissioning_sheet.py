"""The record of commissioning as a page to print: every step with figure, name and day."""

import time
from collections.abc import Iterable, Sequence
from itertools import groupby

from jinja2 import Environment, PackageLoader, StrictUndefined

from rigfw.version import __version__
from snapgloss.rigs.commissioning import StepState, simulated_keys, state_words, verdict

DAY_FORMAT = "%Y-%m-%d"


def page(rig_name: str, rig_crc: str, found: Sequence[StepState]) -> str:
    """The whole page as HTML; it asks nothing of any other file."""
    environment = Environment(
        loader=PackageLoader("snapgloss.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    groups = [
        (title, [_row(one) for one in steps])
        for title, steps in groupby(found, key=lambda one: one.step.group)
    ]
    return environment.get_template("commissioning.html.j2").render(
        rig_name=rig_name,
        rig_crc=rig_crc,
        verdict=verdict(found),
        simulated=simulated_keys(found),
        boards=_each(one.entry.board for one in found if one.entry),
        probes=_each(one.entry.probes for one in found if one.entry and one.entry.probes),
        groups=groups,
        version=__version__,
    )


def _each(values: Iterable[str]) -> list[str]:
    """Each value once, in the order of the steps."""
    return list(dict.fromkeys(values))


def _row(one: StepState) -> dict[str, str]:
    entry = one.entry
    return {
        "key": one.step.key,
        "words": one.step.words,
        "must": one.step.must,
        "state": state_words(one),
        "found": "" if entry is None else entry.words.partition("; must be: ")[0],
        "name": "" if entry is None else entry.name,
        "day": "" if entry is None else _day(entry.at_utc_ms),
        "due": "" if one.due_utc_ms is None else _day(one.due_utc_ms),
    }


def _day(at_utc_ms: int) -> str:
    return time.strftime(DAY_FORMAT, time.gmtime(at_utc_ms / 1000))
