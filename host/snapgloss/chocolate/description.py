"""One chocolate as its maker knows it: name, type, what the label says, and notes; as a file.

`milk_fat` is the share of the fat that is milk fat. What the label does not say is left out and
the type's usual figure is taken.
"""

from dataclasses import replace
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, StringConstraints, ValidationError
from pydantic import Field as Limits

from snapgloss.base import textfiles
from snapgloss.base.errors import InputError
from snapgloss.base.fields import (
    SHARE,
    Field,
    FieldRefused,
    by_model,
    check_format,
    joined,
    read_fields,
    trouble,
    write_fields,
)
from snapgloss.base.names import NAME_MOST, check_name
from snapgloss.base.textfiles import field_refused, load_toml
from snapgloss.chocolate.types import MILK_FAT_MOST_SHARE, ChocolateType, type_of

FORMAT = 1
FAT_PERMILLE = (150, 650)
"""Own choice: labels say 28 to 42 % (common practice); cocoa mass itself has 50 to 60 %."""
NOTES_MOST = 2000

FIELDS: dict[str, Field] = {
    "name": Field("name"),
    "type": Field("type"),
    "fat": Field("fat_permille", SHARE),
    "milk_fat": Field("milk_fat_permille", SHARE),
    "origin": Field("origin"),
    "lot": Field("lot"),
    "notes": Field("notes"),
}

Line = Annotated[str, StringConstraints(min_length=1, max_length=NAME_MOST)]
FatPermille = Annotated[int, Limits(ge=FAT_PERMILLE[0], le=FAT_PERMILLE[1])]
MilkFatPermille = Annotated[int, Limits(ge=0, le=round(MILK_FAT_MOST_SHARE * 1000))]


class ChocolateDescription(BaseModel):
    """One chocolate. Shares in thousandths: fat of the chocolate, milk fat of that fat.

    Made from Python, a value out of range raises pydantic's ValidationError.
    """

    model_config = ConfigDict(strict=True, frozen=True, extra="forbid")

    name: Line
    type: Literal["dark", "milk", "white"]
    fat_permille: FatPermille | None = None
    milk_fat_permille: MilkFatPermille | None = None
    origin: Line | None = None
    lot: Line | None = None
    notes: Annotated[str, StringConstraints(max_length=NOTES_MOST)] | None = None

    @property
    def chocolate_type(self) -> ChocolateType:
        """Return the limits of its type with what the label says of fat and milk fat."""
        kind = type_of(self.type)
        if self.milk_fat_permille is not None:
            kind = kind.with_milk_fat(self.milk_fat_permille / 1000)
        if self.fat_permille is not None:
            kind = replace(kind, fat_share=self.fat_permille / 1000)
        return kind


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
        found = ChocolateDescription.model_validate(read_fields(FIELDS, data, ("format",)))
        _check_texts(found)
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
    return "\n".join([*lines, f"format = {FORMAT}", *write_fields(FIELDS, chocolate)]) + "\n"


def _check_texts(chocolate: ChocolateDescription) -> None:
    """Refuse what would break a line; only notes may have several."""
    for field in ("name", "origin", "lot"):
        text = getattr(chocolate, field)
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
