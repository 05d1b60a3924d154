"""The command that puts firmware and settings on a board."""

import time
from pathlib import Path
from typing import TYPE_CHECKING

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.rigs.board_image import Image
    from snapgloss.runs.deploy import Deployed, Settings
    from snapgloss.runs.fitted import Fitted

SUPPLY = (
    "Pull the plug of the 24 V supply; the USB cable feeds the board. While its files change the "
    "board can be told anything: only the cut-out and the enable circuit protect then."
)
NONE = Path("none")
NO_PROOF = ""
"""What stands in the board's file of the proof where there is none: at most 20 W."""


@click.command()
@click.option("--port", required=True, help="Where the board is; see `snapgloss ports`.")
@options.rig_file
@click.option(
    "--probe",
    "probes",
    multiple=True,
    metavar="ROLE=PROBE",
    help="Which probe has which role, such as chocolate=ds18b20,2801001a2b00005f.",
)
@click.option(
    "--proof",
    type=click.Path(path_type=Path),
    metavar="FILE|none",
    help="Write the proof that `snapgloss commission` gave: the rig may have all of its heat. "
    "Without it a change of rig or probes takes the board's proof away; so does `none`.",
)
@click.option("--scan", is_flag=True, help="Only say which probes are on the bus of a board.")
@click.option("--back", is_flag=True, help="Go back to the firmware that was on it before.")
@click.option(
    "--supply-off", is_flag=True, help="Say that the 24 V plug is out, instead of being asked."
)
@options.as_json
@click.pass_context
def deploy(
    ctx: click.Context,
    port: str,
    rig: Path | None,
    probes: tuple[str, ...],
    proof: Path | None,
    scan: bool,
    back: bool,
    supply_off: bool,
    as_json: bool,
) -> None:
    """Put the firmware of this program on a board, with what it must know of its rig.

    A rig that runs must be off or locked, and needs a press of its start button. Every file is
    compared on the board before it counts; until then the board keeps what it had.
    """
    from snapgloss.rigs.probe_list import BUS_GPIO
    from snapgloss.runs import deploy as use
    from snapgloss.runs.prompt import board_at_prompt

    if (back or scan) and (probes or rig or proof or (back and scan)):
        raise _no_settings("--scan" if scan else "--back")
    data = options.data_folder(ctx)
    fitted = _fitted(data, probes)
    settings = _settings(rig, fitted, proof)
    image = None if back or scan else _image()
    _ask_for_supply(supply_off)
    board = board_at_prompt(port, _say)
    try:
        if scan:
            _tell_bus(board.on_bus(BUS_GPIO), as_json)
            return
        done = use.deploy(board, image, settings, _say) if image else use.roll_back(board, _say)
    finally:
        board.close()
    _keep_fitted(data, done, fitted)
    _tell(done, as_json)
    _tell_unproved(settings)


def _ask_for_supply(is_off: bool) -> None:
    """The heater's supply is out before anything is written. Raises InputError else."""
    if not is_off and not click.confirm(f"{SUPPLY} Is it out?", err=True):
        raise InputError("Nothing was changed.", "Pull the plug, then run the command again.")


def _tell_unproved(settings: "Settings") -> None:
    from rigfw.commissioned import UNPROVED_W

    if settings.proof_text == NO_PROOF:
        _say(f"The board holds no proof now: it gives its heater {UNPROVED_W} W at most.")


def _no_settings(option: str) -> InputError:
    words = f"{option} changes no settings."
    return InputError(words, "Leave out --rig, --probe and --proof.")


def _tell_bus(numbers: list[str], as_json: bool) -> None:
    from snapgloss.rigs.probe_list import on_bus

    found = on_bus(numbers)
    if as_json:
        options.print_json(found)
        return
    for words in found or ["No probe on the bus. Look at its three wires and the bus resistor."]:
        click.echo(words)


def _image() -> "Image":
    from snapgloss.link.compiler import compiled
    from snapgloss.rigs.manifest import firmware_files

    click.echo("Compiling the firmware ...", err=True)
    return compiled(firmware_files())


def _fitted(data: Path, probes: tuple[str, ...]) -> "dict[str, Fitted]":
    """The probes named, by role, with the last calibration of each."""
    from snapgloss.runs.calibrations import Calibrations
    from snapgloss.runs.fitted import Fitted

    record = Calibrations(data, lambda: time.time_ns() // 1_000_000)
    found: dict[str, Fitted] = {}
    for text in probes:
        role, _, kind = text.partition("=")
        if role in found:
            raise InputError(f"--probe {role} is given twice.", "Name each role once.")
        entry, words = record.probe(kind)
        found[role] = Fitted(entry, record.last(kind))
        _say(f"{role}: {words}")
    return found


def _settings(
    rig_file: Path | None, fitted: "dict[str, Fitted]", proof: Path | None
) -> "Settings":
    from snapgloss.base.textfiles import read_text, shown_path
    from snapgloss.rigs import description, probe_list
    from snapgloss.rigs.commissioning import check_proof
    from snapgloss.runs.deploy import Settings

    rig_text = description.read(rig_file).to_config_text() if rig_file else None
    # Whatever changes may be what was proved: a proof that is not given anew is none.
    proof_text = NO_PROOF if rig_file or fitted or proof == NONE else None
    if proof is not None and proof != NONE:
        proof_text = read_text(proof).strip()
        check_proof(proof_text, rig_text, shown_path(proof))
    line = (
        probe_list.line_of({role: one.entry for role, one in fitted.items()}) if fitted else None
    )
    return Settings(rig_text, line, proof_text)


def _keep_fitted(data: Path, done: "Deployed", fitted: "dict[str, Fitted]") -> None:
    """Write down which probes the board has now; a batch on it keeps them."""
    from snapgloss.runs import fitted as record
    from snapgloss.runs.deploy import PROBES

    now_utc_ms = time.time_ns() // 1_000_000
    if fitted:
        record.keep(data, done.board, fitted, now_utc_ms)
    elif PROBES in done.restored:
        record.keep_back(data, done.board, now_utc_ms)


def _say(words: str) -> None:
    click.echo(words, err=True)


def _tell(done: "Deployed", as_json: bool) -> None:
    if as_json:
        options.print_json(done._asdict())
        return
    back = f" {done.back_to} is kept for --back." if done.back_to else ""
    click.echo(
        f"Firmware {done.version} is on the board and starts: {done.file_count} files, "
        f"{done.size_bytes / 1000:.0f} kB, each compared.{back}"
    )
