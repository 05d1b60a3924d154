"""The names a schedule file uses, the model's name for each, and how its value is written."""

from snapgloss.base.fields import CREEP, MASS, RATE, SHARE, SPAN, TEMPERATURE, Field

HEAD: dict[str, Field] = {
    "name": Field("name"),
    "chocolate": Field("chocolate"),
    "type": Field("type"),
    "milk_fat": Field("milk_fat_permille", SHARE),
    "method": Field("method"),
    "start": Field("start"),
    "mass": Field("mass_g", MASS),
    "ceiling": Field("ceiling_mc", TEMPERATURE),
}
WINDOW: dict[str, Field] = {
    "low": Field("low_mc", TEMPERATURE),
    "high": Field("high_mc", TEMPERATURE),
}
STEP: dict[str, Field] = {
    "kind": Field("kind"),
    "target": Field("target_mc", TEMPERATURE),
    "hold": Field("hold_s", SPAN),
    "rate": Field("rate_mc_per_min", RATE),
    "wall": Field("wall_mc", TEMPERATURE),
    "prompt": Field("prompt"),
    "wait": Field("wait_s", SPAN),
    "seed": Field("seed_g", MASS),
    "creep": Field("creep_mc_per_h", CREEP),
    "creep_to": Field("creep_to_mc", TEMPERATURE),
}
