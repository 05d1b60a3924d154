"""The rig between batches: what is due, firmware, heat, probes, commissioning, stops."""

from collections.abc import Mapping
from importlib.resources import files
from typing import Any

from snapgloss.runs.rig_state import HeatFigure, RigState
from snapgloss.web.api.rig import state_of
from snapgloss.web.pages.frame import new_name, render, whole
from snapgloss.web.pages.rig.words import RIG, UPDATE
from snapgloss.web.site import Site


def html(site: Site, _asked: Mapping[str, str]) -> str:
    """Return the page for one visit."""
    page, found = new_name(), state_of(site)
    body = files("snapgloss.web.pages.rig").joinpath("rig.html").read_text(encoding="utf-8")
    text = render(
        body, rig=RIG, steps_to_update=UPDATE, found=found, page=page,
        firmware=firmware_words(found),
        drift=drift_words, is_there=bool(found.board), own=RIG, runs=_numbers(found),
        is_learning=site.is_learning,
    )  # fmt: skip
    return whole(site, "rig", page, ("record.css", "rig.css"), text)


def firmware_words(found: RigState) -> str:
    """One sentence on the firmware of the rig that answers."""
    if not found.firmware:
        key = "firmware_unknown"
    elif found.simulated:
        key = "firmware_simulated"
    else:
        key = "firmware_other" if found.has_update else "firmware_same"
    return RIG[key].format(firmware=found.firmware, newest=found.newest)


def drift_words(figure: HeatFigure) -> str:
    """ "-23 %: the fan takes less heat ...", or that it is steady."""
    if figure.change is None:
        return RIG["too_few"]
    if not figure.moves:
        return RIG["steady"]
    return f"{100 * figure.change:+.0f} %: {figure.moves}"


def _numbers(found: RigState) -> dict[str, Any]:
    learned = [str(run) for run in found.learned_of]
    return {"words": ", ".join(learned), "arguments": " ".join(learned)}
