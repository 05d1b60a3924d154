"""Figures by a pad of large keys: no keyboard comes up, and one that is there works as well."""

from collections.abc import Callable
from typing import NamedTuple, cast

from nicegui import ui
from nicegui.elements.button import Button
from nicegui.events import GenericEventArguments, KeyEventArguments

from snapgloss.base.errors import InputError
from snapgloss.base.fahrenheit import in_fahrenheit
from snapgloss.base.units import c_from_f, f_from_c, show_temperature
from snapgloss.web.pages.parts.touches import TOUCH, Told, touch
from snapgloss.web.words_before import BEFORE

KEYS = ("7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0")
LONGEST = 6
WITH_SCALE = "() => emit(document.documentElement.dataset.unit)"
"""A touch brings along which scale its device shows; the server keeps none."""


class Kind(NamedTuple):
    """What a figure is: its name, the unit it is typed in, how it is read and shown.

    `read` raises InputError for what cannot be; `show` gives it with its unit. `empty` is the
    value of a figure that is left open, None where it cannot be. `read_f` reads it in °F, where
    it is a temperature.
    """

    name: str
    unit: str
    read: Callable[[str], int]
    show: Callable[[int], str]
    empty: int | None = None
    read_f: Callable[[str], int] | None = None


class Pad:
    """One pad for a page; a Figure opens it."""

    def __init__(self) -> None:
        self._typed, self._is_f = "", False
        self._figure: Figure | None = None
        with ui.dialog() as self._dialog, ui.card().classes("pad"):
            self._name = ui.label().classes("pad-name")
            self._shown = ui.label().classes("pad-shown").props('role="status"').mark("pad-shown")
            self._wrong = ui.label().classes("pad-wrong").props('role="alert"').mark("pad-wrong")
            with ui.element("div").classes("pad-keys"):
                for key in KEYS:
                    self._key(key)
                back = touch("⌫", self._delete, "pad-back")
                back.props(f'aria-label="{BEFORE["delete"]}"')
            self._open_end = touch(BEFORE["as_usual"], self._leave_open, "pad-open")
            with ui.element("div").classes("pad-ends"):
                touch(BEFORE["cancel"], self._dialog.close, "pad-cancel")
                touch(BEFORE["ok"], self._done, "pad-ok", "main").props("autofocus")
        self._keys = ui.keyboard(self._typed_key, active=False, ignore=[])
        self._dialog.on_value_change(self._follow_dialog)

    def _key(self, key: str) -> None:
        ui.button(key, color=None, on_click=lambda: self._type(key)).props(TOUCH).mark(
            f"pad-{key}"
        ).classes("touch")

    def open(self, figure: "Figure", fahrenheit: bool = False) -> None:
        """Ask for a figure, a temperature in the scale of the device that asks."""
        self._figure, self._typed = figure, ""
        self._is_f = fahrenheit and figure.kind.read_f is not None
        unit = "°F" if self._is_f else figure.kind.unit
        self._name.set_text(f"{figure.kind.name} ({unit})")
        self._wrong.set_text("")
        self._open_end.set_visibility(figure.kind.empty is not None)
        self._show()
        self._dialog.open()

    def _show(self) -> None:
        figure = self._figure
        if figure is not None:
            shown = figure.kind.show(figure.value)
            self._shown.set_text(self._typed or (in_fahrenheit(shown) if self._is_f else shown))
            self._shown.classes(
                add="" if self._typed else "before", remove="before" if self._typed else ""
            )

    def _type(self, key: str) -> None:
        if len(self._typed) < LONGEST:
            self._typed += key
        self._show()

    def _delete(self) -> None:
        self._typed = self._typed[:-1]
        self._show()

    def _follow_dialog(self) -> None:
        """Keys are heard while the pad is open, wherever the focus is."""
        self._keys.active = bool(self._dialog.value)

    def _typed_key(self, event: KeyEventArguments) -> None:
        if not event.action.keydown:
            return
        if event.key.name in KEYS:
            self._type(event.key.name)
        elif event.key.name == "Backspace":
            self._delete()

    def _leave_open(self) -> None:
        figure = self._figure
        if figure is not None and figure.kind.empty is not None:
            self._dialog.close()
            figure.change(figure.kind.empty)

    def _done(self) -> None:
        figure = self._figure
        if figure is None or not self._typed:
            self._dialog.close()
            return
        read = figure.kind.read_f if self._is_f else figure.kind.read
        try:
            value = cast("Callable[[str], int]", read)(self._typed)
        except InputError as no:
            self._wrong.set_text(str(no))
            return
        self._dialog.close()
        figure.change(value)


class Figure:
    """A figure on a page: its name, its value, and a touch that opens the pad."""

    def __init__(
        self, pad: Pad, kind: Kind, value: int, on_change: Callable[[int], None], mark: str
    ) -> None:
        self.kind, self.value, self._on_change = kind, value, on_change
        self._pad = pad
        self.button: Button = ui.button(color=None).props(TOUCH)
        self.button.on("click", self._touched, js_handler=WITH_SCALE)
        with self.button.classes("touch figure-touch").mark(mark):
            ui.label(kind.name).classes("figure-name")
            self._shown = Told(kind.show(value), "figure-value")

    def _touched(self, event: GenericEventArguments) -> None:
        self.open(event.args == "f")

    def open(self, fahrenheit: bool = False) -> None:
        """Ask for it."""
        self._pad.open(self, fahrenheit)

    def set(self, value: int) -> None:
        """Show a value without telling anybody."""
        self.value = value
        self._shown.set(self.kind.show(value))

    def change(self, value: int) -> None:
        """Take a value that was typed."""
        self.set(value)
        self._on_change(value)


def whole(low: int, high: int, what: str) -> Callable[[str], int]:
    """Return how a whole number between two is read."""

    def read(text: str) -> int:
        if not (text.isascii() and text.isdigit() and low <= int(text) <= high):
            raise InputError(f"{text} {what} cannot be.", f"Give {low} to {high}.")
        return int(text)

    return read


def tenths(low_mc: int, high_mc: int, unit: str) -> Callable[[str], int]:
    """Return how a number with a point is read, in thousandths."""

    def read(text: str) -> int:
        try:
            value = round(float(text) * 1000)
        except (ValueError, OverflowError):
            value = low_mc - 1
        if not low_mc <= value <= high_mc:
            low, high = low_mc / 1000, high_mc / 1000
            raise InputError(f"{text} {unit} cannot be.", f"Give {low:g} to {high:g} {unit}.")
        return value

    return read


def temperature(name: str, low_mc: int, high_mc: int) -> Kind:
    """Return how a temperature is typed, in °C or °F, and shown. Milli-degC."""
    read_c = tenths(low_mc, high_mc, "°C")

    def read_f(text: str) -> int:
        try:
            return read_c(repr(c_from_f(float(text))))
        except (ValueError, OverflowError, InputError):
            low, high = f_from_c(low_mc / 1000), f_from_c(high_mc / 1000)
            remedy = f"Give {low:g} to {high:g} °F."
            raise InputError(f"{text} °F cannot be.", remedy) from None

    return Kind(name, "°C", read_c, show_temperature, None, read_f)


def time_of_day(text: str) -> int:
    """Return minutes since midnight for "930", "1005" or "9.30". Raises InputError else."""
    plain = text.replace(".", "")
    if not (plain.isascii() and plain.isdigit() and 3 <= len(plain) <= 4):
        raise InputError(f"{text} is no time of day.", "Type 930 for half past nine.")
    hour, minute = int(plain[:-2]), int(plain[-2:])
    if hour > 23 or minute > 59:
        raise InputError(f"{hour}:{minute:02d} is no time of day.", "Type 930 for 9:30.")
    return hour * 60 + minute
