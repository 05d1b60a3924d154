"""Figures by a pad of large keys: no keyboard comes up, and one that is there works as well."""

from collections.abc import Callable
from typing import NamedTuple

from nicegui import ui
from nicegui.elements.button import Button
from nicegui.events import KeyEventArguments

from snapgloss.base.errors import InputError
from snapgloss.web.pages.parts.touches import TOUCH, touch
from snapgloss.web.words_before import BEFORE

KEYS = ("7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0")
LONGEST = 6


class Kind(NamedTuple):
    """What a figure is: its name, the unit it is typed in, how it is read and shown.

    `read` raises InputError for what cannot be; `show` gives it with its unit. `empty` is the
    value of a figure that is left open, None where it cannot be.
    """

    name: str
    unit: str
    read: Callable[[str], int]
    show: Callable[[int], str]
    empty: int | None = None


class Pad:
    """One pad for a page; a Figure opens it."""

    def __init__(self) -> None:
        self._typed = ""
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

    def open(self, figure: "Figure") -> None:
        """Ask for a figure."""
        self._figure, self._typed = figure, ""
        self._name.set_text(f"{figure.kind.name} ({figure.kind.unit})")
        self._wrong.set_text("")
        self._open_end.set_visibility(figure.kind.empty is not None)
        self._show()
        self._dialog.open()

    def _show(self) -> None:
        figure = self._figure
        if figure is not None:
            self._shown.set_text(self._typed or figure.kind.show(figure.value))
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
        try:
            value = figure.kind.read(self._typed)
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
        button: Button = ui.button(color=None, on_click=self.open).props(TOUCH)
        with button.classes("touch figure-touch").mark(mark):
            ui.label(kind.name).classes("figure-name")
            self._shown = ui.label(kind.show(value)).classes("figure-value")

    def open(self) -> None:
        """Ask for it."""
        self._pad.open(self)

    def set(self, value: int) -> None:
        """Show a value without telling anybody."""
        self.value = value
        self._shown.set_text(self.kind.show(value))

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


def time_of_day(text: str) -> int:
    """Return minutes since midnight for "930", "1005" or "9.30". Raises InputError else."""
    plain = text.replace(".", "")
    if not (plain.isascii() and plain.isdigit() and 3 <= len(plain) <= 4):
        raise InputError(f"{text} is no time of day.", "Type 930 for half past nine.")
    hour, minute = int(plain[:-2]), int(plain[-2:])
    if hour > 23 or minute > 59:
        raise InputError(f"{hour}:{minute:02d} is no time of day.", "Type 930 for 9:30.")
    return hour * 60 + minute
