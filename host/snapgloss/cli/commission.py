"""The command that proves a rig, step by step, and keeps its record."""

import contextlib
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from snapgloss.base.errors import InputError, RigError
from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.rigs.commissioning import StepState
    from snapgloss.rigs.description import RigDescription
    from snapgloss.runs.commission_place import Place
    from snapgloss.runs.commissioning import Sheet

SKIP = "skip"
VIRTUAL_STUCK_S = 1800  # half of the hour that a real rig takes


@click.command()
@click.option("--port", help="Where the rig is; see `snapgloss ports`.")
@click.option("--virtual", "on_virtual", is_flag=True, help="Prove a simulated rig of its own.")
@options.rig_file
@click.option("--name", default="", help="Who does the steps and signs each.")
@click.option("--only", multiple=True, metavar="STEP", help="Do this step; may be given again.")
@click.option("--list", "as_list", is_flag=True, help="Only say where every step stands.")
@click.option(
    "--sheet",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.html",
    help="Write the record as a page to print, into a file that is not there yet.",
)
@click.option(
    "--proof",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="When every step is passed: write the proof for `snapgloss deploy`.",
)
@options.as_json
@click.pass_context
def commission(
    ctx: click.Context,
    port: str | None,
    on_virtual: bool,
    rig: Path | None,
    name: str,
    only: tuple[str, ...],
    as_list: bool,
    sheet: Path | None,
    proof: Path | None,
    as_json: bool,
) -> int:
    """Prove a rig: every step measured by the rig or by you, signed, and written down.

    Until all steps are passed the firmware gives the heater 20 W at most. A step that is cut short
    is done again; some fall due every month.
    """
    if port is not None and rig is None:
        raise InputError(
            "Which rig is on that port?",
            "Give --rig RIG.toml, the description it was deployed with.",
        )
    kept = _sheet(ctx, rig, on_virtual)
    if not (as_list or sheet or proof):
        _prove(kept, port, on_virtual, name, only)
    if proof is not None:
        _write_proof(kept, proof)
    if sheet is not None:
        _write_sheet(kept, sheet)
    return _tell(kept, as_json)


def _sheet(ctx: click.Context, rig: Path | None, on_virtual: bool) -> "Sheet":
    from snapgloss.rigs import description
    from snapgloss.runs.commissioning import Sheet, described_as

    found = description.read(rig) if rig else description.BENCH_RIG
    if on_virtual:
        fitted = {} if rig else {"has_sense": True}
        found = described_as(found.model_copy(update=fitted), True)
    return Sheet(options.data_folder(ctx), found, lambda: time.time_ns() // 1_000_000)


def _prove(
    sheet: "Sheet", port: str | None, on_virtual: bool, name: str, only: tuple[str, ...]
) -> None:
    from snapgloss.rigs.commissioning_steps import BEFORE, step_of
    from snapgloss.runs import commissioning as use

    signer = use.signed(name)
    keys = use.wanted_keys(only, sheet)
    group = ""
    with _place(sheet.rig, port, on_virtual) as place:
        for number, key in enumerate(keys, 1):
            if step_of(key).group != group:
                group = step_of(key).group
                place.hands.ready(f"\n{group}. {BEFORE[group]}")
            click.echo(f"\nStep {number} of {len(keys)}", err=True)
            try:
                entry = use.do_step(key, place, sheet, signer)
            except (RigError, InputError) as fault:
                click.echo(f"{key} was cut short and is not done. {fault}", err=True)
                continue
            click.echo(f"{key}: {entry.result}, {entry.words}", err=True)
            if entry.result == "failed":
                break
        place.link.close()


@contextlib.contextmanager
def _place(rig: "RigDescription", port: str | None, on_virtual: bool) -> Iterator["Place"]:
    if on_virtual == (port is not None):
        raise InputError("Which rig?", "Give either --port PORT or --virtual.")
    if port is None:
        with _virtual_place(rig) as place:
            yield place
        return
    from snapgloss.runs.commission_place import Place, held_of
    from snapgloss.runs.connect import connect

    yield Place(connect(port), _Hands(), rig, lambda: connect(port), held_of(rig))


@contextlib.contextmanager
def _virtual_place(rig: "RigDescription") -> Iterator["Place"]:
    from snapgloss.chocolate.heat import specific_heat
    from snapgloss.runs.commission_place import Place
    from snapgloss.runs.connect import connect
    from snapgloss.virtual.hands_on import WARM_C, QuickClock, SimulatedHands
    from snapgloss.virtual.plant import PlantSetup
    from snapgloss.virtual.rig import RigOptions, VirtualRig

    setup = PlantSetup(
        mass_g=2000.0, solid=False, start_c=WARM_C, room_c=WARM_C, heater_w=float(rig.heater_w),
        plate_j_per_k=rig.plate_j_per_k, plate_w_per_k=rig.plate_w_per_k,
        probe_lag_s=rig.probe_lag_s,
    )  # fmt: skip
    chosen = RigOptions(setup, speed=None, config_text=rig.to_config_text())
    with VirtualRig(chosen, clock=QuickClock()) as virtual:
        hands = SimulatedHands(
            virtual, lambda words: click.echo(f"  [simulated] {words}", err=True)
        )
        held = 2.0 * specific_heat(setup.fat_share) + rig.plate_j_per_k
        yield Place(
            connect(virtual.port), hands, rig, lambda: connect(virtual.port), held, VIRTUAL_STUCK_S
        )


class _Hands:
    """The person at the terminal, who also has the rig before them."""

    pulls_cable = True

    def say(self, words: str) -> None:
        """Print."""
        click.echo(words, err=True)

    def begin(self, key: str) -> None:
        """Nothing: the words of the step say it."""

    def act(self, key: str) -> None:
        """Ring."""
        click.echo(f"\aNow: do what the step says ({key}).", err=True)

    def ready(self, words: str) -> None:
        """Wait for Enter."""
        click.prompt(words, default="", show_default=False, prompt_suffix=" [Enter] ", err=True)

    def figure(self, words: str, unit: str) -> float | None:
        """A number, or skip."""
        while True:
            text = click.prompt(f"{words} [{unit}, or {SKIP}]", err=True)
            if text.strip().lower() == SKIP:
                return None
            with contextlib.suppress(ValueError):
                value = float(text.strip().removesuffix(unit).strip())
                if -1e9 < value < 1e9:
                    return value
            click.echo(f"Write a number of {unit}.", err=True)

    def seen(self, words: str, must: str) -> bool | None:
        """Yes, no, or skip."""
        answer = click.prompt(
            f"{words} Must be: {must}. Is it so?",
            type=click.Choice(["yes", "no", SKIP]),
            err=True,
        )
        return None if answer == SKIP else answer == "yes"


def _write_proof(sheet: "Sheet", file: Path) -> None:
    from snapgloss.base import textfiles
    from snapgloss.rigs.commissioning import proof as proof_of

    text = proof_of(sheet.states(), sheet.rig.to_config_text())
    textfiles.write_text(file, text + "\n")
    click.echo(f"The proof is in {file}: put it on the board with deploy --proof.", err=True)


def _write_sheet(sheet: "Sheet", file: Path) -> None:
    from snapgloss.base import textfiles
    from snapgloss.report.commissioning_sheet import page

    textfiles.write_text(file, page(sheet.rig.name, sheet.rig_crc, sheet.states()))
    click.echo(f"The sheet is in {file}; print it from a browser.", err=True)


def _tell(sheet: "Sheet", as_json: bool) -> int:
    from snapgloss.rigs.commissioning import open_steps, simulated_keys, state_words, verdict

    found = sheet.states()
    if as_json:
        options.print_json(
            {
                "rig": sheet.rig.name,
                "may_heat_fully": not open_steps(found) and not simulated_keys(found),
                "simulated": simulated_keys(found),
                "verdict": verdict(found),
                "steps": [_row(one) for one in found],
            }
        )
    else:
        for one in found:
            words = one.entry.words if one.entry else one.step.must
            click.echo(f"{one.step.key:<18}  {state_words(one):<21}  {words}")
        click.echo(verdict(found))
    return 0 if not open_steps(found) else RigError.exit_code


def _row(one: "StepState") -> dict[str, Any]:
    entry = None if one.entry is None else one.entry._asdict()
    return {"key": one.step.key, "state": one.state, "due_utc_ms": one.due_utc_ms, "entry": entry}
