"""One chocolate as its maker knows it: what label or recipe say, lots, notes, own figures; a file.

`milk_fat` is the share of the fat that is milk fat; every other share is of the chocolate. What
nobody says is left out and the type's usual figure is taken. What follows from it all is in
`figures`.
"""

from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, StringConstraints, ValidationError
from pydantic import Field as Limits

from snapgloss.base import textfiles
from snapgloss.base.errors import InputError
from snapgloss.base.fields import (
    FieldRefused,
    by_model,
    check_format,
    joined,
    read_fields,
    trouble,
    write_fields,
)
from snapgloss.base.names import NAME_MOST, check_name
from snapgloss.base.textfiles import field_refused, load_toml, shown
from snapgloss.chocolate.description_fields import FIELDS, FORMAT, LIST_EXAMPLES, LISTS, SHARES
from snapgloss.chocolate.heat import melting_depression
from snapgloss.chocolate.recipe import Recipe, check_recipe, specific_heat
from snapgloss.chocolate.types import MILK_FAT_MOST_SHARE, ChocolateType, type_of

FAT_PERMILLE = (150, 650)
"""Own choice: labels say 28 to 42 % (common practice); cocoa mass itself has 50 to 60 %."""
NOTES_MOST = 2000
LIST_MOST = 50
SEED = ("seed_low_mc", "seed_at_mc", "seed_high_mc")
WALL_OVER_WORK_MC = 1000
"""A wall must be so much warmer than the bowl that heat gets in (own choice)."""

Line = Annotated[str, StringConstraints(min_length=1, max_length=NAME_MOST)]
Lines = Annotated[tuple[Line, ...], Limits(max_length=LIST_MOST)]
FatPermille = Annotated[int, Limits(ge=FAT_PERMILLE[0], le=FAT_PERMILLE[1])]
MilkFatPermille = Annotated[int, Limits(ge=0, le=round(MILK_FAT_MOST_SHARE * 1000))]
Permille = Annotated[int, Limits(ge=0, le=1000)]


class ChocolateDescription(BaseModel):
    """One chocolate. Shares in thousandths of the chocolate, milk fat in those of its fat.

    The last six are own figures that stand in for derived ones: J/kg, J/kg K, kg/m3, milli-K and
    milli-degC. Made from Python, a value out of range raises pydantic's ValidationError; what does
    not fit together is found by `from_text` and `check_together`.
    """

    model_config = ConfigDict(strict=True, frozen=True, extra="forbid")

    name: Line
    type: Literal["dark", "milk", "white"]
    fat_permille: FatPermille | None = None
    milk_fat_permille: MilkFatPermille | None = None
    cocoa_permille: Permille | None = None
    cocoa_butter_permille: Permille | None = None
    sugar_permille: Permille | None = None
    milk_powder_permille: Permille | None = None
    skim_powder_permille: Permille | None = None
    butter_oil_permille: Permille | None = None
    lecithin_permille: Annotated[int, Limits(ge=0, le=20)] | None = None
    other_permille: Permille | None = None
    origin: Line | None = None
    lot: Line | None = None
    lots: Lines = ()
    allergens: Lines = ()
    may_contain: Lines = ()
    inclusions: Line | None = None
    notes: Annotated[str, StringConstraints(max_length=NOTES_MOST)] | None = None
    latent_heat_j_per_kg: Annotated[int, Limits(ge=20_000, le=110_000)] | None = None
    specific_heat_j_per_kg_k: Annotated[int, Limits(ge=1200, le=2300)] | None = None
    density_kg_per_m3: Annotated[int, Limits(ge=1000, le=1500)] | None = None
    depression_mk: Annotated[int, Limits(ge=0, le=5000)] | None = None
    work_cap_mc: Annotated[int, Limits(ge=25_000, le=33_800)] | None = None
    wall_cap_mc: Annotated[int, Limits(ge=25_000, le=34_000)] | None = None

    @property
    def recipe(self) -> Recipe:
        """Return the ingredients as shares 0..1."""
        given = {name: getattr(self, f"{name}_permille") for name in SHARES}
        return Recipe(**{n: None if v is None else v / 1000 for n, v in given.items()})

    @property
    def fat_share(self) -> float:
        """Return fat, 0..1 of the chocolate: label, else ingredients, else the type's usual."""
        if self.fat_permille is not None:
            return self.fat_permille / 1000
        return self.recipe.fat if self.recipe.known else type_of(self.type).fat_share

    @property
    def milk_fat_share(self) -> float:
        """Return milk fat, 0..1 of the fat: label, else ingredients, else the type's usual.

        In whole thousandths, as a schedule's file has it: both must give the same limits.
        """
        if self.milk_fat_permille is not None:
            return self.milk_fat_permille / 1000
        if self.recipe.has_milk:
            return round(self.recipe.milk_fat / self.fat_share, 3)
        return type_of(self.type).milk_fat_share

    @property
    def depression_k(self) -> float:
        """Return the melting-point depression: own figure, else the one rule for milk fat."""
        if self.depression_mk is not None:
            return self.depression_mk / 1000
        return melting_depression(self.milk_fat_share)

    @property
    def _specific_heat(self) -> float | None:
        """Own figure, else by the recipe's components; None leaves it to the type's fat."""
        if self.specific_heat_j_per_kg_k is not None:
            return self.specific_heat_j_per_kg_k
        return specific_heat(self.recipe) if self.recipe.known else None

    @property
    def chocolate_type(self) -> ChocolateType:
        """Return the limits of its type, lowered as far as milk fat and own figures ask for.

        No own figure raises a limit: those of the type also hold on the rig.
        """
        usual = type_of(self.type)
        down_k = max(self.depression_k, melting_depression(self.milk_fat_share))
        more_k = down_k - melting_depression(usual.milk_fat_share)
        kind = replace(
            usual.lowered(max(0, round(more_k * 1000))),
            milk_fat_share=self.milk_fat_share,
            fat_share=self.fat_share,
            own_specific_heat=self._specific_heat,
            own_latent_heat=self.latent_heat_j_per_kg,
            own_depression_k=None if self.depression_mk is None else self.depression_k,
        )
        return _capped(kind, self.work_cap_mc, self.wall_cap_mc)


def _capped(kind: ChocolateType, work_mc: int | None, wall_mc: int | None) -> ChocolateType:
    """Return the type with own caps: a lower wall takes the seeding point down with it, a lower
    cap the working band."""
    if wall_mc is not None and wall_mc < kind.wall_mc:
        down_mc = kind.wall_mc - wall_mc
        seed = {name: getattr(kind, name) - down_mc for name in SEED}
        kind = replace(kind, wall_mc=wall_mc, **seed)
    if work_mc is None or work_mc >= kind.cap_mc:
        return kind
    return replace(kind, cap_mc=work_mc, work=kind.work.lowered(kind.cap_mc - work_mc))


def read(path: Path) -> ChocolateDescription:
    """Return the chocolate of a TOML file; InputError names file, line and field."""
    return from_text(textfiles.read_text(path), textfiles.name_of(path))


def write(path: Path, chocolate: ChocolateDescription, overwrite: bool = False) -> None:
    """Write the chocolate to a file, whole or not at all; InputError if it is there already."""
    textfiles.write_text(path, to_text(chocolate), overwrite)


def from_text(text: str, where: str = "chocolate") -> ChocolateDescription:
    """Return the chocolate of a TOML text. Raises InputError and nothing else, for any text."""
    data = load_toml(text, where)
    try:
        check_format(data.pop("format", None), FORMAT)
        _lists(data)
        found = ChocolateDescription.model_validate(read_fields(FIELDS, data, ("format",)))
        _check_texts(found)
        check_together(found)
    except FieldRefused as no:
        raise field_refused(text, where, no.field, no.words) from None
    except ValidationError as problem:
        error = problem.errors(include_url=False)[0]
        name, quantity = by_model(FIELDS, str(error["loc"][0]))
        raise field_refused(text, where, name, trouble(error, quantity)) from None
    return found


def to_text(chocolate: ChocolateDescription) -> str:
    """Return the TOML text of a chocolate; `from_text` of it gives an equal one."""
    lines = ["# A chocolate. Shares carry their sign; milk_fat is a share of the fat.", ""]
    fields = write_fields(FIELDS, chocolate, dict.fromkeys(LISTS, ()))
    return "\n".join([*lines, f"format = {FORMAT}", *fields]) + "\n"


def check_together(chocolate: ChocolateDescription) -> None:
    """Raise FieldRefused for figures that cannot be true together, or caps that cannot be kept."""
    fat, milk_fat = chocolate.fat_permille, chocolate.milk_fat_permille
    check_recipe(
        chocolate.recipe,
        None if fat is None else fat / 1000,
        None if milk_fat is None else milk_fat / 1000,
    )
    if not FAT_PERMILLE[0] <= round(chocolate.fat_share * 1000) <= FAT_PERMILLE[1]:
        words = f"the ingredients give {chocolate.fat_share * 100:.1f} % of fat; 15 to 65 % is "
        raise FieldRefused("cocoa", words + "chocolate")
    if not 0 <= chocolate.milk_fat_share <= MILK_FAT_MOST_SHARE:
        words = f"{chocolate.milk_fat_share * 100:.0f} % of the fat is milk fat; no figure of "
        raise FieldRefused("type", words + "ours holds above 40 %")
    _check_caps(chocolate)


def _check_caps(chocolate: ChocolateDescription) -> None:
    """Own caps only lower, and not so far that no schedule could keep to them."""
    plain = chocolate.model_copy(update={"work_cap_mc": None, "wall_cap_mc": None}).chocolate_type
    for name, own_mc, most_mc in (
        ("work_cap", chocolate.work_cap_mc, plain.cap_mc),
        ("wall_cap", chocolate.wall_cap_mc, plain.wall_mc),
    ):
        if own_mc is not None and own_mc > most_mc:
            words = f"{own_mc / 1000:g} C is above {most_mc / 1000:g} C, where this chocolate "
            raise FieldRefused(name, words + "loses its temper; an own cap can only be lower")
    # A schedule knows type and milk fat, and judges by them what is too thick to work.
    least_mc = type_of(chocolate.type).with_milk_fat(chocolate.milk_fat_share).work_low_mc
    kind = chocolate.chocolate_type
    if kind.work.default_mc < least_mc:
        name = "depression" if chocolate.work_cap_mc is None else "work_cap"
        words = f"it would be worked under {least_mc / 1000:g} C, where it is too thick to work"
        raise FieldRefused(name, words)
    if kind.wall_mc < kind.work.default_mc + WALL_OVER_WORK_MC:
        words = (
            f"{kind.wall_mc / 1000:g} C leaves no room over {kind.work.default_mc / 1000:g} C, "
        )
        raise FieldRefused("wall_cap", words + "where it is worked; give 1 C more at least")


def _lists(data: dict[str, Any]) -> None:
    """Turn lists of texts into tuples, in place; anything else is refused."""
    for name in LISTS:
        value = data.get(name, [])
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            read = "a list of what is no text" if isinstance(value, list) else shown(value)
            raise FieldRefused(name, f"read {read}; write a list like {LIST_EXAMPLES[name]}")
        if value:
            data[name] = tuple(value)
        else:
            data.pop(name, None)


def _check_texts(chocolate: ChocolateDescription) -> None:
    """Refuse what would break a line; only notes may have several."""
    for field in ("name", "origin", "lot", "inclusions", *LISTS):
        value = getattr(chocolate, field)
        for text in value if isinstance(value, tuple) else (value,):
            if text is not None:
                _on_one_line(field, text)
    for line in (chocolate.notes or "").split("\n"):
        if not line.isprintable():
            raise FieldRefused("notes", "a character cannot be shown; leave out tabs and the like")


def _on_one_line(field: str, text: str) -> None:
    try:
        check_name(text, "the text")
    except InputError as refused:
        raise FieldRefused(field, joined(refused)) from None
