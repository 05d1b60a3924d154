"""What use cases return, as data for JSON."""

from dataclasses import fields, is_dataclass
from typing import Any, cast


def plain(value: Any) -> Any:
    """Return named tuples and dataclasses, however deep, as data for JSON."""
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        named = cast("dict[str, Any]", value._asdict())
        return {name: plain(part) for name, part in named.items()}
    if isinstance(value, dict):
        return {name: plain(part) for name, part in value.items()}
    return [plain(part) for part in value] if isinstance(value, list | tuple) else value
