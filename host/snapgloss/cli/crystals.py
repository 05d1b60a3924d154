"""The command that shows the crystals of a batch, once cooling curves stand behind them."""

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, NoReturn

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options
from snapgloss.cli.saveit import newest

if TYPE_CHECKING:
    from snapgloss.chocolate.observer import Observed
    from snapgloss.chocolate.observer_fit import Growth
    from snapgloss.chocolate.types import ChocolateType
    from snapgloss.quality.observe_run import RunLog, Usable
    from snapgloss.store import RunRow

ROWS_EVERY_S = 600


@click.command()
@click.argument("run_id", metavar="[N]", type=options.RUN_ID, required=False)
@click.option(
    "--curve", "curves", type=click.Path(path_type=Path), multiple=True, metavar="CURVE.csv",
    help="A cooling curve of the same chocolate, beside those that are kept. May be repeated.",
)  # fmt: skip
@options.described
@click.option("--details", is_flag=True, help="Show every figure of the model with its status.")
@options.picture
@options.as_json
@options.fahrenheit
@click.pass_context
def crystals(
    ctx: click.Context, run_id: int | None, curves: tuple[Path, ...], described: Path | None,
    details: bool, picture: Path | None, as_json: bool, fahrenheit: bool,
) -> None:  # fmt: skip
    """Estimate the crystals of a batch: stable ones, seeds, thickening.

    Nothing is shown before three cooling curves of the chocolate stand behind it. N is the number
    of the batch; without it, the newest, also while it is under way.
    """
    from snapgloss.quality import observe_run
    from snapgloss.runs.listing import clock_doubt_of

    folder = options.data_folder(ctx) / "curves"
    with options.open_record(ctx, to_read=True) as store:
        run_id = newest(store) if run_id is None else run_id
        run = store.run(run_id)
        readings, events = store.readings(run_id), store.events(run_id)
        doubt = clock_doubt_of(store, run_id)
    fat = _fat(run, described)
    kind = fat.kind
    usable = _usable(folder, run.chocolate, run.simulated, curves)
    growth = observe_run.growth_of(usable.samples, kind)
    if growth is None:
        _refuse(run_id, run.chocolate, usable, as_json)
    log = observe_run.log_of(readings, events, run.mass_g, kind.fat_share)
    found = observe_run.observed(log, kind, run.method, growth)
    if picture:
        _draw(run, log, found, growth, picture, fahrenheit)
    if as_json:
        kept = _as_dict(run, growth, usable.refused, found, fat)
        options.print_json({"doubt": doubt, **kept} if doubt else kept)
        return
    if doubt:
        options.say(doubt)
    _print(run, growth, found, fat)
    if details:
        _print_details(growth, fat, fahrenheit)


class _Fat(NamedTuple):
    """The chocolate as it is reckoned with, and where its fat comes from."""

    kind: "ChocolateType"
    words: str
    is_known: bool


def _fat(run: "RunRow", described: Path | None) -> _Fat:
    """As described, else of the batch's schedule, which knows type and milk fat and no more."""
    from snapgloss.quality.save_it_run import kind_of

    if described is None:
        kind = kind_of(run)
        return _Fat(kind, f"usual for {kind.key}: name its description with --from", False)
    chocolate = options.chocolate_of(described, None)
    if chocolate.name != run.chocolate:
        raise InputError(
            f"{described.name} describes {chocolate.name}; the batch was of {run.chocolate}.",
            "Name the description of that chocolate.",
        )
    kind = chocolate.chocolate_type
    if chocolate.fat_permille is None and not chocolate.recipe.known:
        return _Fat(kind, f"usual for {kind.key}: its description says none", False)
    return _Fat(kind, "as described", True)


def _usable(folder: Path, chocolate: str, simulated: bool, more: tuple[Path, ...]) -> "Usable":
    from snapgloss.quality.kept_curves import kept_curves
    from snapgloss.quality.observe_run import usable_curves
    from snapgloss.quality.temper_file import read_curve

    for path in more:
        read_curve(path)  # a file that was named has to be one
    return usable_curves([*more, *kept_curves(folder, chocolate, simulated)])


def _refuse(run_id: int, chocolate: str, usable: "Usable", as_json: bool) -> NoReturn:
    from snapgloss.chocolate.observer_fit import LEAST_CURVES

    count = len(usable.samples)
    if as_json:
        options.print_json(
            {"run": run_id, "calibrated": False, "curves": count, "needed": LEAST_CURVES}
        )
    aside = f" {usable.refused} cannot be used." if usable.refused else ""
    aside += f" A copy counts as nothing: {usable.copies} left out." if usable.copies else ""
    raise InputError(
        f"Nothing to show yet: {count} of {LEAST_CURVES} cooling curves of {chocolate}.{aside}",
        "Take a sample in each of the next batches; see `snapgloss temper`.",
    )


def _print(run: "RunRow", growth: "Growth", found: "Observed", fat: _Fat) -> None:
    from snapgloss.base.units import show_h_mm

    click.echo(options.hanging("", _heading(run, growth)))
    click.echo("   at    stable   unstable   seeds   (% of the fat)")
    for at_s, v, u, n in _rows(found):
        told = "  nothing known: it must be hot first" if math.isnan(v) else ""
        figures = told or f"{100 * v:8.2f}{100 * u:11.2f}{100 * n:8.2f}"
        click.echo(f"{show_h_mm(at_s):>5}  {figures}")
    if found.seed_lost_s is not None:
        click.echo(f"Seed probably lost from {show_h_mm(found.seed_lost_s)} on.")
    if found.thick_s is not None:
        click.echo(f"Thickening from {show_h_mm(found.thick_s)} on.")
    click.echo(options.hanging("", _doubt(growth, fat)))


def _heading(run: "RunRow", growth: "Growth") -> str:
    simulated = "Simulated. " if run.simulated else ""
    return (
        f"{simulated}Estimate by {growth.curves} cooling curves of {run.chocolate}, not a "
        "measurement."
    )


def _doubt(growth: "Growth", fat: _Fat) -> str:
    worst, share = min(growth.correlations), f"{100 * fat.kind.fat_share:.3g} %"
    beside = f"with {share} of fat" if fat.is_known else f"if it has {share} of fat (assumed)"
    return (
        f"Growth {growth.grow_v:.2f} per min ± {100 * growth.log_sd:.0f} % {beside}. A curve "
        f"tells growth and seed apart badly (correlation {worst:.2f}): compare batches, trust no "
        "single figure."
    )


def _rows(found: "Observed") -> list[tuple[float, float, float, float]]:
    """Every ten minutes and the last."""
    rows, due_s = [], 0.0
    last = len(found.seconds) - 1
    columns = (found.seconds, found.v, found.u, found.n)
    for number, row in enumerate(zip(*columns, strict=True)):
        if row[0] >= due_s or number == last:
            rows.append(tuple(float(one) for one in row))
            due_s += ROWS_EVERY_S
    return rows  # type: ignore[return-value]


def _print_details(growth: "Growth", fat: _Fat, fahrenheit: bool) -> None:
    from snapgloss.base.fahrenheit import in_fahrenheit
    from snapgloss.chocolate.crystals_known import figures

    of_fat = (fat.kind.fat_share, fat.words, fat.is_known)
    for one in figures(growth.rates, growth.log_sd, of_fat):
        value, words = (
            in_fahrenheit(told) if fahrenheit else told for told in (one.value, one.words)
        )
        click.echo(f"  {one.name:<22}{value:<26}{one.status}")
        click.echo(options.hanging("    ", words))


def _draw(
    run: "RunRow", log: "RunLog", found: "Observed", growth: "Growth", path: Path,
    fahrenheit: bool,
) -> None:  # fmt: skip
    from snapgloss.report import planned
    from snapgloss.report.crystals_picture import draw_crystals

    title = f"Batch {run.id}: crystals in {run.chocolate}"
    words = _heading(run, growth)
    figure = draw_crystals(title, words, log, found, fahrenheit, run.simulated)
    planned.save(figure, path)


def _as_dict(
    run: "RunRow", growth: "Growth", refused: int, found: "Observed", fat: _Fat
) -> dict[str, Any]:
    return {
        "run": run.id,
        "chocolate": run.chocolate,
        "simulated": run.simulated,
        "calibrated": True,
        "fat_share": round(fat.kind.fat_share, 4),
        "fat_known": fat.is_known,
        "curves": growth.curves,
        "curves_refused": refused,
        "growth_per_min": round(growth.grow_v, 4),
        "growth_percent": round(100 * growth.log_sd, 1),
        "correlation_growth_seed": [round(one, 3) for one in growth.correlations],
        "seed_of_curves": [round(one, 5) for one in growth.seeds],
        "fit_rms_c": round(growth.rms_c, 4),
        "seed_lost_s": found.seed_lost_s,
        "thick_s": found.thick_s,
        "rows": [
            {
                "at_s": round(at_s, 1),
                **{
                    name: None if math.isnan(one) else round(one, 6)
                    for name, one in (("stable", v), ("unstable", u), ("seeds", n))
                },
            }
            for at_s, v, u, n in _rows(found)
        ],
    }
