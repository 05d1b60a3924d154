"""The rig's description for the firmware when nobody gives one: the plant's own figures."""

from snapgloss.virtual.plant import PlantSetup


def config_text_for(setup: PlantSetup) -> str:
    """A description as of a rig that was identified without error."""
    from snapgloss.rigs.description import RigDescription  # slow to import, seldom wanted

    return RigDescription(
        name="simulated rig",
        heater_w=round(setup.heater_w),
        plate_j_per_k=setup.plate_j_per_k,
        plate_w_per_k=setup.plate_w_per_k,
        loss_w_per_k=setup.loss_w_per_k + setup.plate_loss_w_per_k,
        fan_loss_w_per_k=setup.fan_loss_w_per_k,
        probe_lag_s=setup.probe_lag_s,
    ).to_config_text()
