"""Figures over many batches: charts, before and after a change, plain counts."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.quality.charts import Change, Chart, Count, change, individuals, plain_counts
from snapgloss.quality.figure_words import in_f, is_figure, is_in_degrees, is_temperature
from snapgloss.quality.figures import RunFigures
from snapgloss.quality.log_doubts import left_out_words
from snapgloss.runs.grading import worst_grades
from snapgloss.runs.in_time import in_order_of_time

if TYPE_CHECKING:
    from snapgloss.store import RunRow
    from snapgloss.store.store import Store

FIGURES = tuple(f.name for f in fields(RunFigures) if f.name != "steps")
DEGREES = 0.5
"""Width of a group of plain counts for a figure in degrees; for others about a tenth of the range,
a round 1, 2 or 5."""


class Kind(NamedTuple):
    """Batches that may be compared: one chocolate on one rig, all real or all simulated."""

    chocolate: str
    rig: str
    simulated: bool


@dataclass(frozen=True)
class Repeated:
    """One figure of one kind of batch, in order of time."""

    kind: Kind
    figure: str
    runs: tuple[int, ...]
    without: int
    """Closed batches of this kind that have no such figure."""
    chart: Chart
    change: Change | None
    """None without a change, or with all batches on one side of it."""
    first_after: int | None
    """The place of the first batch after the change; none or all may be before it."""
    counts: tuple[Count, ...]
    left_out: tuple[int, ...] = ()
    """Batches that have this figure and are in nothing of the above: the clocks of their logs may
    have jumped."""


class ChangeAt(NamedTuple):
    """What changed: at a run, with the first use of a bag, or with a firmware."""

    run: int | None = None
    bag: str | None = None
    firmware: str | None = None


def repeated(
    store: "Store",
    figure: str,
    chocolate: str | None = None,
    rig: str | None = None,
    at: ChangeAt | None = None,
) -> list[Repeated]:
    """Chart a figure for each chocolate and rig that has it. Raises InputError for no such figure,
    for no batch with it, for none whose clock is sure, and for a change that never happened."""
    _check_name(figure)
    values = store.figures_named([figure])
    kinds: dict[Kind, list[RunRow]] = {}
    in_time = in_order_of_time(store)
    for run in in_time:
        wanted = (chocolate or run.chocolate, rig or run.rig) == (run.chocolate, run.rig)
        if run.ended_utc_ms is not None and wanted:
            kinds.setdefault(Kind(run.chocolate, run.rig, run.simulated), []).append(run)
    good = {run: grade == "sell" for run, grade in worst_grades(store, in_time).items()}
    first = None if at is None else _first_after(store, at, in_time)
    order = [run.id for run in in_time]
    before = None if first is None else frozenset(order[: order.index(first)])
    found: list[Repeated] = []
    left_out: list[int] = []
    unsure = store.unsure_clocks()
    for kind, runs in kinds.items():
        have = [
            (run.id, v) for run in runs if (v := values.get(run.id, {}).get(figure)) is not None
        ]
        known = [one for one in have if one[0] not in unsure]
        out = tuple(run for run, _ in have if run in unsure)
        left_out += out
        if known:
            one = _repeated(kind, figure, known, len(runs) - len(have), good, before)
            found.append(replace(one, left_out=out))
    if not found:
        raise _nothing(left_out, bool(chocolate or rig))
    return found


def _check_name(figure: str) -> None:
    if not is_figure(figure):
        raise InputError(
            f'"{figure[:40]}" is no figure of a batch.',
            f"Choose {', '.join(FIGURES)}, or one of a step, such as step_3_reach_min.",
        )


def _nothing(left_out: Sequence[int], is_named: bool) -> InputError:
    """Why there is no chart at all."""
    if left_out:
        return InputError(
            f"No other closed batch has this figure. {left_out_words(left_out)}",
            "Put the times of the log right and read it again: snapgloss import --instead N.",
        )
    if is_named:
        return InputError(
            "No closed batch of that chocolate on that rig has this figure.",
            "See how they are called: snapgloss runs.",
        )
    return InputError("No closed batch has this figure.", "Temper one: snapgloss try.")


def _repeated(
    kind: Kind, figure: str, known: Sequence[tuple[int, float]], without: int,
    good: dict[int, bool], earlier: frozenset[int] | None,
) -> Repeated:  # fmt: skip
    runs, values = zip(*known, strict=True)
    changed = place = None
    if earlier is not None:
        before = [value for run, value in known if run in earlier]
        after = [value for run, value in known if run not in earlier]
        place = len(before)
        changed = change(before, after) if before and after else None
    graded = [(value, good[run]) for run, value in known if run in good]
    counts = plain_counts([v for v, _ in graded], [g for _, g in graded], _step(figure, values))
    chart = individuals(values)
    return Repeated(kind, figure, runs, without, chart, changed, place, tuple(counts))


def _step(figure: str, values: Sequence[float]) -> float:
    if is_temperature(figure):
        return DEGREES
    # Finer than a hundredth of the figure itself is nothing that a person would tell apart.
    tenth = max((max(values) - min(values)) / 10, max(map(abs, values)) / 100)
    if not tenth:
        return 1.0
    ten = 10.0 ** math.floor(math.log10(tenth))
    return next((n * ten for n in (1, 2, 5) if n * ten >= tenth), 10 * ten)


def in_fahrenheit(found: Repeated) -> Repeated:
    """The same for a person who thinks in °F; what is not in degrees stays as it is."""
    name, chart = found.figure, found.chart
    if not is_in_degrees(name):
        return found

    def there(value: float | None) -> float | None:
        return None if value is None else in_f(name, value)

    def apart(value: float | None) -> float | None:
        return None if value is None else value * 1.8

    shown = replace(
        chart,
        values=tuple(in_f(name, value) for value in chart.values),
        mean=in_f(name, chart.mean),
        mean_range=apart(chart.mean_range),
        low=there(chart.low),
        high=there(chart.high),
        range_high=apart(chart.range_high),
    )
    moved = found.change and found.change._replace(
        mean_before=in_f(name, found.change.mean_before),
        mean_after=in_f(name, found.change.mean_after),
    )
    counts = tuple(count._replace(at=in_f(name, count.at)) for count in found.counts)
    return replace(found, chart=shown, change=moved, counts=counts)


def _first_after(store: "Store", at: ChangeAt, in_time: Sequence["RunRow"]) -> int:
    """The first run after the change, in order of time."""
    if at.run is not None:
        return store.run(at.run).id
    if at.bag is not None:
        wanted = at.bag.strip().casefold()
        runs = {use.run_id for use in store.uses() if (use.lot or "").casefold() == wanted}
        name = f"bag {at.bag}"
    else:
        runs = {run for run, version in store.firmwares().items() if version == at.firmware}
        name = f"firmware {at.firmware}"
    if not runs:
        raise InputError(f"No batch was made with {name}.", "See snapgloss trace --run N.")
    return next(run.id for run in in_time if run.id in runs)
