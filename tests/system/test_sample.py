"""The sample probe whole: simulated cup, real firmware, a port, and the check at its end."""

import sys
from pathlib import Path

import pytest

from rigwire.schedule import Schedule, Step, to_body
from snapgloss.quality.kept_curves import About, write_curve
from snapgloss.quality.temper_file import read_curve
from snapgloss.runs import sampling
from snapgloss.runs.connect import connect
from snapgloss.virtual.plant import PlantSetup
from snapgloss.virtual.spawn import SpawnOptions, VirtualRigProcess

pytestmark = [
    pytest.mark.timeout(120),
    pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal"),
]

KEPT = Schedule(
    "Lantern 72", "kept", "in_temper", 1000, 55_000,
    (Step("work", 31_500, 2400, 1000, 34_000, 0, 0, 0),),
)  # fmt: skip


@pytest.mark.parametrize(("v", "low", "high"), [(0.002, 1.1, 1.4), (0.02, 0.94, 1.13)])
def test_a_live_curve_of_the_simulated_rig(
    tmp_path: Path, v: float, low: float, high: float
) -> None:
    """Chocolate with 0.2 % of its fat set looks under, with 2 % in temper; so says the file."""
    setup = PlantSetup(mass_g=1000.0, start_c=31.4, solid=False, start_v=v, cold_c=12.0)
    said: list[str] = []
    with VirtualRigProcess(SpawnOptions(setup)) as rig:
        link = connect(rig.port)
        link.ask_start(link.upload(to_body(KEPT)))
        curve = sampling.read_live(link, 12.0, said.append)
        link.close()
    assert curve.phase == "done" and curve.features is not None, curve.refusal
    assert low < curve.features.set_ratio < high
    assert said[0].startswith("Fill the tube") and said[1].startswith("The sample went in")
    path = write_curve(curve.seconds, curve.celsius, tmp_path, "live", About(simulated=True))
    assert read_curve(path).celsius[0] == pytest.approx(curve.celsius[0])
