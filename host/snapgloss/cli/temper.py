"""The command that judges temper: the knife first, a cooling curve beside it."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from snapgloss.base.errors import InputError
from snapgloss.base.fahrenheit import in_fahrenheit
from snapgloss.cli import options, temper_keep
from snapgloss.cli.temper_live import read_live

if TYPE_CHECKING:
    from snapgloss.base.clock import Clock
    from snapgloss.quality.temper_bands import GradedBar
    from snapgloss.quality.temper_smear import SmearTest
    from snapgloss.quality.temper_verdict import TemperVerdict

NEVER, NEVER_S = "never", -1
DIPPED = "Press Enter when the knife is dipped."
SET = "Press Enter when it has set, or when 10 min are over."
STREAKS = "Are there streaks?"
NOT_ASKED = (
    "With --json nobody is asked.",
    'Say what the knife showed: --set-in "4 min" or --set-in never, and --streaks.',
)
ONE_CURVE = ("There are two curves: a file and the rig's.", "Leave out the file or --port.")
PICTURE_OF_NOTHING = ("There is no curve to draw.", "Name the file of a cooling curve.")


class SetIn(options.Quantity):
    """A length of time, or the word never: NEVER_S then."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """Return seconds, or NEVER_S."""
        return NEVER_S if value == NEVER else super().convert(value, param, ctx)


@click.command()
@click.argument("curve", type=click.Path(path_type=Path), metavar="[CURVE.csv]", required=False)
@click.option("--port", help="Read the curve from the sample probe of the rig at this port.")
@click.option(
    "--chocolate", default="", metavar="NAME", help="With --port: what it is, kept with the curve."
)
@click.option(
    "--cold",
    "cold_mc",
    type=options.TEMPERATURE,
    help="Temperature of the cold block or bath. Default: what the curve heads for.",
)
@click.option(
    "--set-in",
    "set_s",
    type=SetIn("SPAN", "span_s"),
    help='What the knife showed: how long it took to set, such as "4 min", or never.',
)
@click.option("--streaks", is_flag=True, help="The knife set with streaks.")
@click.option(
    "--room",
    "room_mc",
    type=options.TEMPERATURE,
    default="21 C",
    show_default=True,
    help="Temperature of the room the knife lies in.",
)
@click.option(
    "--method",
    type=click.Choice(["seeded", "crystals", "cooled", "kept"]),
    default="seeded",
    show_default=True,
    help="How the chocolate was tempered: each way has bands of its own; crystals is seeded with "
    "cocoa-butter crystals.",
)
@click.option(
    "--bars",
    type=click.Path(path_type=Path),
    metavar="BARS.csv",
    help="Your graded bars, which move the bands. Default: bars.csv in the data folder, and "
    "those of the record.",
)
@click.option("--run", "run_id", type=options.RUN_ID, metavar="N", help="Keep it with this batch.")
@options.picture
@click.option("--details", is_flag=True, help="Show the figures behind the sentence.")
@options.as_json
@options.fahrenheit
@click.pass_context
def temper(
    ctx: click.Context, curve: Path | None, port: str | None, chocolate: str, cold_mc: int | None,
    set_s: int | None, streaks: bool, room_mc: int, method: str, bars: Path | None,
    picture: Path | None, run_id: int | None, details: bool, as_json: bool, fahrenheit: bool,
) -> int:  # fmt: skip
    """Check temper: dip a knife, and read the cooling curve of a sample beside it.

    Without CURVE.csv and --set-in it guides and times the knife. CURVE.csv has a row for each
    reading: seconds, °C. With --port the rig's own sample probe is read as the sample cools; a
    batch under way does that by itself. The exit code is 0 only when there is an answer.
    """
    if curve is not None and port is not None:
        raise InputError(*ONE_CURVE)
    if port is not None:
        curve = read_live(ctx, port, cold_mc, chocolate, method, fahrenheit)
    if picture and curve is None:
        raise InputError(*PICTURE_OF_NOTHING)
    if run_id is not None:
        temper_keep.check_run(ctx, run_id)
    knife = _knife(curve, set_s, streaks, room_mc, as_json, fahrenheit)
    if run_id is not None and knife is not None:
        temper_keep.keep_knife(ctx, run_id, knife)
    if curve is None:
        _answer(knife, None, "", as_json, details, fahrenheit)
        return 0
    try:
        own = _bars(ctx, bars)
        verdict = _judged(curve, cold_mc, method, own, picture, fahrenheit)
    except InputError as refused:
        words = in_fahrenheit(str(refused)) if fahrenheit else str(refused)
        _answer(knife, None, words, as_json, details, fahrenheit)
        if as_json:
            return refused.exit_code
        raise
    if run_id is not None:
        temper_keep.keep_curve(ctx, run_id, verdict, curve, cold_mc)
    _answer(knife, verdict, "", as_json, details, fahrenheit)
    return 0


def _knife(
    curve: Path | None, set_s: int | None, streaks: bool, room_mc: int, as_json: bool,
    fahrenheit: bool,
) -> "SmearTest | None":  # fmt: skip
    from snapgloss.base.clock import SystemClock
    from snapgloss.quality.temper_smear import SmearTest

    if set_s is not None:
        return SmearTest(room_mc, None if set_s == NEVER_S else set_s, streaks)
    if curve is not None:
        return None
    if as_json:
        raise InputError(*NOT_ASKED)
    return guided(room_mc, SystemClock(), _wait, _ask, fahrenheit)


def guided(
    room_mc: int,
    clock: "Clock",
    wait: Callable[[str], None],
    ask: Callable[[str], bool],
    fahrenheit: bool = False,
) -> "SmearTest":
    """Lead a person through the smear test; `wait` for Enter, `ask` yes or no."""
    from snapgloss.quality.temper_smear import GIVE_UP_S, SmearTest, guide_lines

    SmearTest(room_mc, None)  # a room nobody can judge in is refused before the knife is dipped
    for line in guide_lines(room_mc, fahrenheit):
        click.echo(line, err=True)
    wait(DIPPED)
    dipped_s = clock.now_s()
    wait(SET)
    took_s = max(1, round(clock.now_s() - dipped_s))
    if took_s > GIVE_UP_S:
        return SmearTest(room_mc, None)
    return SmearTest(room_mc, took_s, ask(STREAKS))


def _wait(words: str) -> None:
    click.prompt(words, default="", show_default=False, prompt_suffix=" ", err=True)


def _ask(words: str) -> bool:
    return click.confirm(words, default=False, err=True)


def _bars(ctx: click.Context, bars: Path | None) -> "list[GradedBar]":
    from snapgloss.quality.temper_file import own_bars, read_bars

    if bars:
        return read_bars(bars)
    return own_bars(options.data_folder(ctx)) + temper_keep.graded(ctx)


def _judged(
    curve: Path, cold_mc: int | None, method: str, bars: "list[GradedBar]", picture: Path | None,
    fahrenheit: bool,
) -> "TemperVerdict":  # fmt: skip
    from snapgloss.chocolate.curve import features_of
    from snapgloss.quality.temper_bands import bands_of
    from snapgloss.quality.temper_file import read_curve
    from snapgloss.quality.temper_verdict import verdict_of

    bands = bands_of(bars, method)
    table = read_curve(curve)
    cold_c = None if cold_mc is None else cold_mc / 1000
    verdict = verdict_of(features_of(table.seconds, table.celsius, cold_c), bands)
    if picture:
        from snapgloss.report import planned
        from snapgloss.report.temper import draw_temper

        planned.save(draw_temper(verdict, *table, fahrenheit), picture)
    return verdict


def _answer(
    knife: "SmearTest | None", verdict: "TemperVerdict | None", refusal: str, as_json: bool,
    details: bool, fahrenheit: bool,
) -> None:  # fmt: skip
    if as_json:
        options.print_json(_as_dict(knife, verdict, refusal, fahrenheit))
        return
    for line in _lines(knife, verdict, details, fahrenheit):
        click.echo(line)


def _lines(
    knife: "SmearTest | None", verdict: "TemperVerdict | None", details: bool, fahrenheit: bool
) -> list[str]:
    from snapgloss.quality import temper_smear, temper_verdict

    lines = [temper_smear.smear_sentence(knife, fahrenheit)] if knife else []
    if verdict is None:
        return lines
    lines += [temper_verdict.sentence_of(verdict), temper_verdict.strip_of(verdict)]
    lines += filter(
        None, (temper_verdict.caution_of(verdict, fahrenheit), _differ(knife, verdict))
    )
    if details:
        rows = temper_verdict.details_of(verdict, fahrenheit)
        lines += [f"  {name:<22}{value}" for name, value in rows]
    return lines


def _differ(knife: "SmearTest | None", verdict: "TemperVerdict") -> str:
    from snapgloss.quality.temper_smear import agreement

    unsure = verdict.borderline or verdict.failed_near > 0
    return agreement(knife, verdict.place, unsure) if knife else ""


def _as_dict(
    knife: "SmearTest | None", verdict: "TemperVerdict | None", refusal: str, fahrenheit: bool
) -> dict[str, Any]:
    """Both tests for a program; a curve that cannot be used has its reason and no figure."""
    from snapgloss.quality.temper_smear import smear_sentence

    shown: dict[str, Any] = {"knife": None, "curve": None}
    if knife:
        shown["knife"] = {
            "result": knife.result,
            "set_s": knife.set_s,
            "streaks": knife.streaks,
            "room_c": knife.room_mc / 1000,
            "sentence": smear_sentence(knife, fahrenheit),
        }
    if verdict:
        shown["curve"] = _curve_dict(knife, verdict, fahrenheit)
    elif refusal:
        shown["curve"] = {"usable": False, "sentence": refusal}
    return shown


def _curve_dict(
    knife: "SmearTest | None", verdict: "TemperVerdict", fahrenheit: bool
) -> dict[str, Any]:
    from dataclasses import asdict

    from snapgloss.quality.temper_verdict import caution_of, sentence_of

    return {
        "usable": True,
        "sentence": sentence_of(verdict),
        "place": verdict.place,
        "borderline": verdict.borderline,
        "near": verdict.near,
        "calibrated": verdict.calibrated,
        "failed_near": verdict.failed_near,
        "caution": caution_of(verdict, fahrenheit) or None,
        "differ": _differ(knife, verdict) or None,
        "figures": {name: _rounded(value) for name, value in asdict(verdict.features).items()},
        "bands": {name: value for name, value in asdict(verdict.bands).items() if name != "own"},
    }


def _rounded(value: float | None) -> float | None:
    return value if value is None else round(value, 4)
