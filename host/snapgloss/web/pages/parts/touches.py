"""Large touches: one of several, any of several, and a sentence in the scale of the device."""

from collections.abc import Callable, Mapping

from nicegui import ui
from nicegui.element import Element
from nicegui.elements.button import Button

from snapgloss.base.fahrenheit import in_fahrenheit

TOUCH = "flat no-caps"


def touch(words: str, on_click: Callable[[], object], mark: str, kind: str = "") -> Button:
    """A large button."""
    button = ui.button(words, color=None, on_click=on_click).props(TOUCH).mark(mark)
    return button.classes(f"touch {kind}".strip())


def heading(words: str, level: int = 2) -> Element:
    """A heading."""
    with ui.element(f"h{level}") as found:
        ui.label(words).classes("inline")
    return found


def told(words: str, classes: str = "") -> None:
    """A sentence; where it holds a temperature, once for each scale, and the device's is shown."""
    other = in_fahrenheit(words)
    if other == words:
        ui.label(words).classes(classes)
        return
    ui.label(words).classes(f"{classes} in-c".strip())
    ui.label(other).classes(f"{classes} in-f".strip())


class Told:
    """A sentence that changes."""

    def __init__(self, words: str = "", classes: str = "", is_status: bool = False) -> None:
        with ui.element("div").classes(classes) as box:
            self._labels = [ui.label().classes(scale) for scale in ("in-c", "in-f")]
        if is_status:
            box.props('role="status"')
        self.set(words)

    def set(self, words: str) -> None:
        """Say it."""
        for label, said in zip(self._labels, (words, in_fahrenheit(words)), strict=True):
            if label.text != said:
                label.set_text(said)


class Group:
    """Touches of which some are on; which, says `is_on`. Each is pressed or not for all senses."""

    def __init__(
        self, name: str, words: Mapping[str, str], on_touch: Callable[[str], None], mark: str
    ) -> None:
        self._buttons: dict[str, Button] = {}
        with ui.element("div").classes("group").props(f'role="group" aria-label="{name}"'):
            for key, said in words.items():
                self._buttons[key] = touch(said, _of(on_touch, key), f"{mark}-{key}", "choice")
        self.show(())

    def show(self, is_on: "tuple[str, ...] | set[str]") -> None:
        """Show which are on."""
        for key, button in self._buttons.items():
            on = key in is_on
            button.props(f"aria-pressed={'true' if on else 'false'}")
            button.classes(add="on" if on else "", remove="" if on else "on")


def _of(on_touch: Callable[[str], None], key: str) -> Callable[[], None]:
    return lambda: on_touch(key)


class Choice:
    """One of several."""

    def __init__(
        self, name: str, words: Mapping[str, str], chosen: str, on_change: Callable[[str], None],
        mark: str,
    ) -> None:  # fmt: skip
        self.value, self._on_change = chosen, on_change
        self._group = Group(name, words, self._touched, mark)
        self.set(chosen)

    def set(self, key: str) -> None:
        """Choose without telling anybody."""
        self.value = key
        self._group.show((key,))

    def _touched(self, key: str) -> None:
        self.set(key)
        self._on_change(key)


class Several:
    """Any of several."""

    def __init__(
        self, name: str, words: Mapping[str, str], on_change: Callable[[], None], mark: str,
        chosen: tuple[str, ...] = (),
    ) -> None:  # fmt: skip
        self.value, self._on_change = set(chosen), on_change
        self._group = Group(name, words, self._touched, mark)
        self._group.show(self.value)

    def set(self, keys: tuple[str, ...] = ()) -> None:
        """Choose these without telling anybody."""
        self.value = set(keys)
        self._group.show(self.value)

    def _touched(self, key: str) -> None:
        self.value ^= {key}
        self._group.show(self.value)
        self._on_change()
