"""How much heater, plate and air a bowl needs: pure functions of SI figures.

What a rig of average make has is scaled from one of 2 kg (the simulated bench rig) by the power
2/3 of the mass, as areas of like bodies are. Own choice; a heat-balance run replaces it.
"""

import math

from snapgloss.chocolate.heat import latent_heat, specific_heat

FAT_SHARE = 0.36
MELT_C, COOL_C = 48.0, 28.0
REFERENCE_KG = 2.0
BOWL_J_PER_K = 400.0  # 0.8 kg of stainless steel of 0.5 kJ/kg K (from memory)
PLATE_J_PER_K = 500.0  # 0.55 kg of aluminium of 0.9 kJ/kg K (from memory)
LOSS_W_PER_K = 1.4  # still air; the simulated bench rig's
PLATE_W_PER_K = 15.0  # plate to stirred liquid; the simulated bench rig's
PLATE_W_PER_CM2 = 0.5  # greatest load of a silicone mat on a plate (common practice)
DENSITY_KG_PER_M3 = 1270.0  # melted dark chocolate, usual figure (from memory)
AIR_J_PER_M3_K = 1207.0  # 1.2 kg/m3 x 1006 J/kg K at 20 degC (from memory)
AIR_W_PER_M_K, AIR_M2_PER_S, AIR_PRANDTL = 0.0257, 15.1e-6, 0.71  # air at 20 degC (from memory)
AIR_RISE_K = 3.0  # own choice: air that warms more no longer cools the far side


def scaled(reference: float, mass_kg: float) -> float:
    """A figure of the 2 kg rig for another mass, as areas scale: (m / 2 kg) ^ 2/3."""
    return reference * math.pow(mass_kg / REFERENCE_KG, 2 / 3)


def held_j_per_k(mass_kg: float) -> float:
    """Heat capacity in J/K of chocolate (melted), bowl and plate together."""
    chocolate = mass_kg * specific_heat(FAT_SHARE)
    return chocolate + scaled(BOWL_J_PER_K + PLATE_J_PER_K, mass_kg)


def melt_j(mass_kg: float, room_c: float, melt_c: float = MELT_C) -> float:
    """Heat in J to melt set chocolate with its bowl and plate from the room's temperature."""
    return held_j_per_k(mass_kg) * (melt_c - room_c) + mass_kg * latent_heat(FAT_SHARE)


def heater_needed_w(mass_kg: float, room_c: float, melt_s: float) -> float:
    """Power in W: heat to melt over its time, plus the loss at the mean excess over the room.

    P = E / t + UA (T_melt - T_room) / 2. The mean of a straight climb; a plateau at 33 degC lies
    near it.
    """
    loss_w = scaled(LOSS_W_PER_K, mass_kg) * (MELT_C - room_c) / 2
    return melt_j(mass_kg, room_c) / melt_s + loss_w


def plate_levels_c(mass_kg: float, room_c: float, power_w: float) -> float:
    """Where the plate levels out in degC with that power for ever: T_room + P / UA + P / h."""
    loss, plate = scaled(LOSS_W_PER_K, mass_kg), scaled(PLATE_W_PER_K, mass_kg)
    return room_c + power_w / loss + power_w / plate


def plate_cm2(heater_w: float) -> float:
    """Least area of the plate under the heater, at 0.5 W/cm2."""
    return heater_w / PLATE_W_PER_CM2


def cooling_needed_w_per_k(mass_kg: float, room_c: float, cool_s: float) -> float:
    """Conductance to the room in W/K that cools 48 to 28 degC in that time.

    Newton's law, UA = C ln((48 - room) / (28 - room)) / t; no crystals form on the way. The room
    must be below 28 degC.
    """
    ratio = (MELT_C - room_c) / (COOL_C - room_c)
    return held_j_per_k(mass_kg) * math.log(ratio) / cool_s


def wall_m2(mass_kg: float) -> float:
    """Wall of a bowl as deep as its radius: 2 pi r2, with pi r3 the chocolate's volume."""
    return 2 * math.pi * bowl_radius_m(mass_kg) ** 2


def bowl_radius_m(mass_kg: float) -> float:
    """Radius of a bowl as deep as its radius, in m."""
    return math.pow(mass_kg / DENSITY_KG_PER_M3 / math.pi, 1 / 3)


def air_m3_per_h(conductance_w_per_k: float, room_c: float) -> float:
    """Air in m3/h that takes the heat at the mean excess of cooling and warms by 3 K."""
    mean_k = (MELT_C + COOL_C) / 2 - room_c
    return 3600 * conductance_w_per_k * mean_k / (AIR_J_PER_M3_K * AIR_RISE_K)


def film_w_per_m2_k(speed_m_per_s: float, length_m: float) -> float:
    """Heat transfer of air along a wall: Nu = 0.664 Re^1/2 Pr^1/3, the laminar flat plate.

    Textbook correlation (Incropera, *Fundamentals of Heat and Mass Transfer*, from memory), for
    Re below 5e5; mean over the length.
    """
    reynolds = speed_m_per_s * length_m / AIR_M2_PER_S
    nusselt = 0.664 * math.sqrt(reynolds) * math.pow(AIR_PRANDTL, 1 / 3)
    return nusselt * AIR_W_PER_M_K / length_m


def air_speed_m_per_s(fan_w_per_k: float, area_m2: float, length_m: float) -> float:
    """Speed in m/s at which the fan gives that conductance on that area: `film` inverted."""
    at_one = film_w_per_m2_k(1.0, length_m)
    return (fan_w_per_k / area_m2 / at_one) ** 2
