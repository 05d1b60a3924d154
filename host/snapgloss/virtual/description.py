"""The rig's description for the firmware when nobody gives one: the plant's own figures."""

from rigfw.config import RigConfig
from snapgloss.virtual.plant import PlantSetup


def config_text_for(setup: PlantSetup) -> str:
    """A description as of a rig that was identified without error."""
    text: str = RigConfig(  # type: ignore[no-untyped-call]
        heater_w=round(setup.heater_w),
        plate_j_per_k=round(setup.plate_j_per_k),
        plate_w_per_k=round(setup.plate_w_per_k),
        loss_mw_per_k=round((setup.loss_w_per_k + setup.plate_loss_w_per_k) * 1000),
        fan_loss_mw_per_k=round(setup.fan_loss_w_per_k * 1000),
        probe_lag_ms=round(setup.probe_lag_s * 1000),
        ceiling_mc=60000,
        plate_ceiling_mc=80000,
        attended_limit_s=3600,
        min_on_ms=250,
        min_off_ms=250,
        fan_min_ms=0,
        has_plate=1,
        has_room=1,
        has_tacho=0,
    ).to_text()
    return text
