"""The command that proves a rig, step by step, and keeps its record."""

import contextlib
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from snapgloss.base.errors import InputError, RigError, SnapglossError
from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.rigs.commissioning import Entry, StepState
    from snapgloss.rigs.commissioning_steps import Step
    from snapgloss.runs.commission_place import Hands
    from snapgloss.runs.commissioning import Sheet

SKIP = "skip"
WORDS_AT = 43
GO_ON = "The same command goes on with this step."
FAILED = f"Mend the rig. {GO_ON}"


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

    A board without the proof that all steps are passed gives the heater 20 W at most. A step that
    is cut short is done again; some fall due every month.
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
    from snapgloss.runs.commission_places import simulated
    from snapgloss.runs.commissioning import Sheet

    found = description.read(rig) if rig else description.BENCH_RIG
    if on_virtual:
        found = simulated(found, is_described=rig is not None)
    return Sheet(options.data_folder(ctx), found, lambda: time.time_ns() // 1_000_000)


def _prove(
    sheet: "Sheet", port: str | None, on_virtual: bool, name: str, only: tuple[str, ...]
) -> None:
    from snapgloss.runs import commissioning as use
    from snapgloss.runs.commission_places import on_a_port, on_a_virtual_rig

    signer = use.signed(name)
    keys = use.wanted_keys(only, sheet)
    if on_virtual == (port is not None):
        raise InputError("Which rig?", "Give either --port PORT or --virtual.")
    opened = on_a_virtual_rig(sheet.rig) if port is None else on_a_port(sheet.rig, port)
    with opened(_simulated_person() if port is None else _Hands()) as place:
        use.prove(keys, place, sheet, signer, _Watch())


def _simulated_person() -> "Hands":
    from snapgloss.virtual.hands_on import SimulatedPerson

    return SimulatedPerson(lambda words: click.echo(f"  [simulated] {words}", err=True))


class _Watch:
    """Tells the terminal."""

    def begins(self, step: "Step", number: int, of: int) -> None:  # noqa: ARG002
        """Its number; the words of the step come with it."""
        click.echo(f"\nStep {number} of {of}", err=True)

    def done(self, entry: "Entry") -> None:
        """Its result."""
        click.echo(options.wrapped(f"{entry.key}: {entry.result}, {entry.words}"), err=True)
        if entry.result == "failed":
            click.echo(FAILED, err=True)

    def cut_short(self, key: str, fault: SnapglossError) -> None:
        """Why, and how to go on."""
        words = f"{key} was cut short and is not done. {fault} {GO_ON}"
        click.echo(options.wrapped(words), err=True)


class _Hands:
    """The person at the terminal, who also has the rig before them."""

    pulls_cable = True
    _said = ""

    def say(self, words: str) -> None:
        """Print."""
        self._said = words
        click.echo(options.wrapped(words), err=True)

    def begin(self, key: str) -> None:
        """Nothing: the words of the step say it."""

    def act(self, key: str) -> None:
        """Ring."""
        click.echo(f"\aNow: do what the step says ({key}).", err=True)

    def look_up(self) -> None:
        """Nothing: Ctrl-C ends a step."""

    def ready(self, words: str) -> None:
        """Wait for Enter."""
        click.prompt(
            f"\n{options.wrapped(words)}",
            default="",
            show_default=False,
            prompt_suffix=" [Enter] ",
            err=True,
        )

    def figure(self, words: str, unit: str) -> float | None:
        """A number, or skip."""
        asked = "Your figure" if words in self._said else options.wrapped(words)
        while True:
            text = click.prompt(f"{asked} [{unit}, or {SKIP}]", err=True)
            if text.strip().lower() == SKIP:
                return None
            with contextlib.suppress(ValueError):
                value = float(text.strip().removesuffix(unit).strip())
                if -1e9 < value < 1e9:
                    return value
            click.echo(f"Write a number of {unit}, such as 10.1, or {SKIP}.", err=True)

    def seen(self, words: str, must: str) -> bool | None:  # noqa: ARG002
        """Yes, no, or skip."""
        answer = click.prompt(
            f"Is it so: {must}?",  # the words of the step stand above
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
            row = f"{one.step.key:<18}  {state_words(one):<21}  {words}"
            click.echo(options.wrapped(row, WORDS_AT))
        click.echo(options.wrapped(verdict(found)))
    return 0 if not open_steps(found) else RigError.exit_code


def _row(one: "StepState") -> dict[str, Any]:
    entry = None if one.entry is None else one.entry._asdict()
    return {"key": one.step.key, "state": one.state, "due_utc_ms": one.due_utc_ms, "entry": entry}
