"""The command that shows the crystals of a batch, once cooling curves stand behind them."""

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

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

    folder = options.data_folder(ctx) / "curves"
    with options.open_record(ctx, to_read=True) as store:
        run_id = newest(store) if run_id is None else run_id
        run = store.run(run_id)
        readings, events = store.readings(run_id), store.events(run_id)
    kind = _kind(run, described)
    usable = _usable(folder, run.chocolate, run.simulated, curves)
    growth = observe_run.growth_of(usable.samples, kind)
    if growth is None:
        _refuse(run_id, run.chocolate, usable, as_json)
    log = observe_run.log_of(readings, events, run.mass_g, kind.fat_share)
    found = observe_run.observed(log, kind, run.method, growth)
    if picture:
        _draw(run_id, run.chocolate, log, found, growth, picture, fahrenheit)
    if as_json:
        options.print_json(_as_dict(run_id, run.chocolate, growth, usable.refused, found))
        return
    _print(run.chocolate, growth, found)
    if details:
        _print_details(growth)


def _kind(run: "RunRow", described: Path | None) -> "ChocolateType":
    """As described, else of the batch's schedule, which knows type and milk fat and no more."""
    from snapgloss.quality.save_it_run import kind_of

    if described is None:
        return kind_of(run)
    chocolate = options.chocolate_of(described, None)
    if chocolate.name != run.chocolate:
        raise InputError(
            f"{described.name} describes {chocolate.name}; the batch was of {run.chocolate}.",
            "Name the description of that chocolate.",
        )
    return chocolate.chocolate_type


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


def _print(chocolate: str, growth: "Growth", found: "Observed") -> None:
    from snapgloss.base.units import show_h_mm

    click.echo(_heading(chocolate, growth))
    click.echo("   at    stable   unstable   seeds   (% of the fat)")
    for at_s, v, u, n in _rows(found):
        told = "  nothing known: it must be hot first" if math.isnan(v) else ""
        figures = told or f"{100 * v:8.2f}{100 * u:11.2f}{100 * n:8.2f}"
        click.echo(f"{show_h_mm(at_s):>5}  {figures}")
    if found.seed_lost_s is not None:
        click.echo(f"Seed probably lost from {show_h_mm(found.seed_lost_s)} on.")
    if found.thick_s is not None:
        click.echo(f"Thickening from {show_h_mm(found.thick_s)} on.")
    click.echo(_doubt(growth))


def _heading(chocolate: str, growth: "Growth") -> str:
    return f"Estimate by {growth.curves} cooling curves of {chocolate}, not a measurement."


def _doubt(growth: "Growth") -> str:
    worst = min(growth.correlations)
    return (
        f"Growth {growth.grow_v:.2f} per min +- {100 * growth.log_sd:.0f} %. A curve tells growth "
        f"and seed apart badly (correlation {worst:.2f}): compare batches, trust no single figure."
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


def _print_details(growth: "Growth") -> None:
    from snapgloss.chocolate.crystals_known import figures

    for one in figures(growth.rates, growth.log_sd):
        click.echo(f"  {one.name:<22}{one.value:<26}{one.status}")
        click.echo(options.hanging("    ", one.words))


def _draw(
    run_id: int, chocolate: str, log: "RunLog", found: "Observed", growth: "Growth", path: Path,
    fahrenheit: bool,
) -> None:  # fmt: skip
    from snapgloss.report import planned
    from snapgloss.report.crystals_picture import draw_crystals

    title = f"Batch {run_id}: crystals in {chocolate}"
    figure = draw_crystals(title, _heading(chocolate, growth), log, found, fahrenheit)
    planned.save(figure, path)


def _as_dict(
    run_id: int, chocolate: str, growth: "Growth", refused: int, found: "Observed"
) -> dict[str, Any]:
    return {
        "run": run_id,
        "chocolate": chocolate,
        "calibrated": True,
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
