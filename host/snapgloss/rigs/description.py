"""What a rig is made of: powers, losses, ceilings and fittings, from a file or built in.

A rig file says each figure with its unit in the name (`heater_w = 100`), so no number in it is
bare. What the device needs of it goes to the board as one line, written by `rigfw.config`.
"""

import json
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, ValidationError
from pydantic_core import ErrorDetails

from rigfw import limits
from rigfw.config import ConfigRefused, RigConfig
from rigfw.describe import FIELDS
from snapgloss.base import textfiles
from snapgloss.base.errors import InputError
from snapgloss.base.fields import joined
from snapgloss.base.names import check_name
from snapgloss.base.textfiles import advice, field_refused, load_toml, shown

FORMAT = 1
NEEDS_SENSE = (
    f"above {limits.FREE_W} W a rig must sense its heater's node; "
    "wire the sense and say has_sense = true"
)
CheckOff = Literal["stop_proof", "probes_agree", "heat_balance"]
"""Checks that a description may switch off, with 20 W at most: bits of the device's field."""
_OFF_BITS = {
    "stop_proof": limits.OFF_STOP_PROOF,
    "probes_agree": limits.OFF_COLD,
    "heat_balance": limits.OFF_BALANCE,
}
Learnable = Literal[
    "heater_w", "plate_j_per_k", "plate_w_per_k", "loss_w_per_k", "fan_loss_w_per_k", "probe_lag_s"
]
_LIMITS = {name: (least, most) for name, least, most in FIELDS}


def _within(device_name: str, per_unit: int = 1) -> Any:
    """Return the device's own limits of a field, in the unit of the file."""
    least, most = _LIMITS[device_name]
    return Field(ge=least / per_unit, le=most / per_unit)


def _as_tuple(read: Any) -> Any:
    """TOML knows lists only."""
    return tuple(read) if isinstance(read, list) else read


def _on_one_line(text: str) -> str:
    check_name(text, "The rig's name")
    return text


class RigDescription(BaseModel):
    """One rig. Made from Python, a value out of range raises pydantic's ValidationError, and a
    name that fits no line an InputError.

    `plate_w_per_k` is from the plate to stirred liquid chocolate; `loss_w_per_k` from the whole
    to the room in still air; `fan_loss_w_per_k` what a full fan adds. `fan_min_ms` 0 means a fan
    whose speed can be set, otherwise it is switched, for at least so long. `probe_uncertainty_c`
    is shown beside every window. `checks_off` names checks that this rig does without, with
    20 W at most. `known_percent` says of figures that were learned from runs how
    well: one standard deviation, in per cent; of the others nobody knows more than their maker.
    """

    model_config = ConfigDict(strict=True, frozen=True, extra="forbid", allow_inf_nan=False)

    name: Annotated[str, Field(min_length=1, max_length=40), AfterValidator(_on_one_line)]
    heater_w: Annotated[int, _within("heater_w")]
    plate_j_per_k: Annotated[float, _within("plate_j_per_k")]
    plate_w_per_k: Annotated[float, _within("plate_w_per_k")]
    loss_w_per_k: Annotated[float, _within("loss_mw_per_k", 1000)]
    fan_loss_w_per_k: Annotated[float, _within("fan_loss_mw_per_k", 1000)]
    probe_lag_s: Annotated[float, _within("probe_lag_ms", 1000)]
    # DS18B20 data sheet: +-0.5 degC from -10 to 85 degC.
    probe_uncertainty_c: Annotated[float, Field(ge=0.05, le=5.0)] = 0.5
    largest_mass_g: Annotated[int, Field(ge=100, le=15_000)] = 6000
    ceiling_c: Annotated[float, _within("ceiling_mc", 1000)] = 60.0
    plate_ceiling_c: Annotated[float, _within("plate_ceiling_mc", 1000)] = 80.0
    attended_limit_s: Annotated[int, _within("attended_limit_s")] = 3600
    min_on_ms: Annotated[int, _within("min_on_ms")] = 250
    min_off_ms: Annotated[int, _within("min_off_ms")] = 250
    fan_min_ms: Annotated[int, _within("fan_min_ms")] = 0
    has_plate: bool = True
    has_room: bool = True
    has_tacho: bool = False
    has_sense: bool = False
    tacho_pulses: Annotated[int, _within("tacho_pulses")] = 1
    checks_off: Annotated[tuple[CheckOff, ...], BeforeValidator(_as_tuple)] = ()
    known_percent: dict[Learnable, Annotated[float, Field(ge=0.1, le=200.0)]] = Field(
        default_factory=dict
    )

    @property
    def ceiling_mc(self) -> int:
        """The rig never lets the chocolate go above it, milli-degC."""
        return round(self.ceiling_c * 1000)

    @property
    def plate_ceiling_mc(self) -> int:
        """The rig never lets the plate go above it, milli-degC."""
        return round(self.plate_ceiling_c * 1000)

    def to_config_text(self) -> str:
        """Return the line the board keeps, check sum included, without a line end.

        Raises InputError if the device's own check would refuse it.
        """
        try:
            # The device's own code carries no types: it also runs on MicroPython.
            config: Any = RigConfig
            text: str = config(**self._device_fields()).to_text()
        except ConfigRefused as refused:
            raise InputError(
                f'The rig "{self.name}" cannot be described to its board: {refused.reason}.',
                "Correct the rig's description.",
            ) from refused
        return text

    def _device_fields(self) -> dict[str, int]:
        """Return the whole numbers the device keeps, by its own names."""
        fields = {
            "loss_mw_per_k": round(self.loss_w_per_k * 1000),
            "fan_loss_mw_per_k": round(self.fan_loss_w_per_k * 1000),
            "probe_lag_ms": round(self.probe_lag_s * 1000),
            "ceiling_mc": self.ceiling_mc,
            "plate_ceiling_mc": self.plate_ceiling_mc,
            "checks_off": sum({_OFF_BITS[name] for name in self.checks_off}),
        }
        same = [name for name in _LIMITS if name not in fields]
        return {**fields, **{name: round(getattr(self, name)) for name in same}}


BENCH_RIG = RigDescription(
    # The simulated rig, not the guide's: 100 W, the most without a sense of the heater's node, an
    # aluminium plate of about 0.55 kg (0.9 kJ/kg K), a fan. The losses are the simulated bowl's.
    name="bench rig",
    heater_w=100,
    plate_j_per_k=500.0,
    plate_w_per_k=15.0,
    loss_w_per_k=1.4,
    fan_loss_w_per_k=4.0,
    probe_lag_s=8.0,
)


def read(path: Path) -> RigDescription:
    """Return the rig of a TOML file.

    Raises InputError naming the file and field, what was read and what would be right.
    """
    return from_text(textfiles.read_text(path), textfiles.name_of(path))


def write(path: Path, rig: RigDescription, overwrite: bool = False) -> None:
    """Write the rig to a file, whole or not at all; InputError if it is there already."""
    textfiles.write_text(path, to_text(rig), overwrite)


def from_text(text: str, where: str = "rig") -> RigDescription:
    """Return the rig of a TOML text. Raises InputError and nothing else, for any text."""
    data = load_toml(text, where)
    version = data.pop("format", None)
    if type(version) is not int or version != FORMAT:
        right = f'the first line must be "format = {FORMAT}"'
        raise field_refused(text, where, "format", right)
    for name in data:
        if name not in RigDescription.model_fields:
            words = advice(name, RigDescription.model_fields)
            raise field_refused(text, where, name, words)
    try:
        rig = RigDescription.model_validate(data)
    except InputError as refused:
        raise field_refused(text, where, "name", joined(refused)) from None
    except ValidationError as problem:
        error = problem.errors(include_url=False)[0]
        raise field_refused(text, where, str(error["loc"][0]), _trouble(error)) from None
    if rig.heater_w > limits.FREE_W and not rig.has_sense:
        raise field_refused(text, where, "heater_w", NEEDS_SENSE)
    rig.to_config_text()  # what its board would refuse is refused here
    return rig


def to_text(rig: RigDescription) -> str:
    """Return the TOML text of a rig; `from_text` of it gives an equal rig."""
    lines = ["# A rig. Each figure has its unit in its name.", "", f"format = {FORMAT}"]
    plain = rig.model_dump(exclude={"known_percent"})
    for name, value in plain.items():
        # JSON of a printable text, a number or a truth is TOML of the same.
        lines.append(f"{name} = {json.dumps(value, ensure_ascii=False)}")
    if rig.known_percent:
        known = ", ".join(f"{name} = {value!r}" for name, value in rig.known_percent.items())
        lines.append(f"known_percent = {{ {known} }}")
    return "\n".join(lines) + "\n"


def _trouble(error: ErrorDetails) -> str:
    """Say what was read and what would be right, by pydantic's kind of error."""
    read, bounds = shown(error["input"]), error.get("ctx", {})
    right = {
        "missing": "missing; add it",
        "greater_than_equal": f"{read} is too low; the least is {bounds.get('ge', 0):g}",
        "less_than_equal": f"{read} is too high; the most is {bounds.get('le', 0):g}",
        "bool_type": f"read {read}; write true or false",
        "int_type": f"read {read}; write a whole number",
        "int_from_float": f"read {read}; write a whole number",
        "float_type": f"read {read}; write a number",
        "literal_error": f"read {read}; choose {bounds.get('expected', '')}".replace("'", '"'),
        "tuple_type": f"read {read}; write a list of texts in quotes",
        "finite_number": f"read {read}; write a number",
    }
    return right.get(error["type"], f"read {read}; write 1 to 40 characters in quotes")
