"""Gloss and snap: a photo of the line card in a bar, and the sound of one that breaks."""

import asyncio
from collections.abc import Callable
from typing import TypeVar

from nicegui import ui
from nicegui.events import UploadEventArguments

from snapgloss.base.errors import SnapglossError
from snapgloss.quality.kept_bar import SOUND_MOST_BYTES
from snapgloss.runs import gloss
from snapgloss.web.heavy import gloss_of_file, snap_of_file
from snapgloss.web.pages.frame import render
from snapgloss.web.pages.parts.touches import TOUCH, Choice, Told, heading
from snapgloss.web.pages.parts.visit import Visit
from snapgloss.web.serve import PHOTO_MOST_BYTES
from snapgloss.web.words_after import AFTER

SCRIPT = '<script type="module" src="{{ at(\'snap.js\') }}"></script>'
WHICH = {"bar": AFTER["gloss_bar"], "kept": AFTER["gloss_kept"]}
CARD = "api/line-card.pdf"
Found = TypeVar("Found")


class GlossView:
    """The gloss and snap of one batch's bars; `on_kept` is called after each entry."""

    def __init__(self, visit: Visit, run_id: int, on_kept: Callable[[], None]) -> None:
        self._visit, self._run_id, self._on_kept = visit, run_id, on_kept
        ui.add_body_html(render(SCRIPT))
        heading(AFTER["gloss"])
        ui.label(AFTER["gloss_guide"]).classes("quiet")
        self._which = Choice(AFTER["gloss_which"], WHICH, "bar", lambda _key: None, "which")
        with ui.element("div").classes("ends"):
            self._picker(
                "gloss_photo", 'accept="image/*" capture=environment', PHOTO_MOST_BYTES,
                self._keep_photo, "photo_large",
            )  # fmt: skip
            self._picker("gloss_sound", "", SOUND_MOST_BYTES, self._keep_sound, "sound_large")
        self._said = Told(classes="answer", is_status=True)
        ui.link(AFTER["gloss_card"], CARD).classes("batch-row").props("download")

    def _picker(
        self, key: str, props: str, most_bytes: int,
        on_upload: Callable[[UploadEventArguments], object], too_large: str,
    ) -> None:  # fmt: skip
        """A touch that asks for a file. A sound is made into WAV by the script before it is sent,
        for a tablet's recorder writes what only a browser can read."""
        upload = ui.upload(
            label=AFTER[key], auto_upload=True, max_file_size=most_bytes, on_upload=on_upload,
            on_rejected=lambda: self._visit.say(AFTER[too_large], is_bad=True),
        )  # fmt: skip
        upload.props(props).classes("picker").mark(key)
        button = ui.button(AFTER[key], color=None).props(TOUCH).classes("touch")
        if key == "gloss_sound":
            button.props(f"data-snap-sound={upload.id}")
        else:
            button.on("click", js_handler=f"() => getElement({upload.id}).pickFiles()")

    async def _keep_photo(self, event: UploadEventArguments) -> None:
        content = await self._taken(event)
        found = await self._worked(gloss_of_file, content)
        if found is None:
            return
        given = (self._visit.site.store, self._run_id, content, self._is_kept())
        folder = self._visit.site.folder

        def keep() -> str:
            gloss.keep_gloss(*given, folder, lambda _content: found)
            return AFTER["gloss_said"].format(percent=100 * found.sharpness)

        self._told(self._visit.do("gloss", keep))

    async def _keep_sound(self, event: UploadEventArguments) -> None:
        content = await self._taken(event)
        found = await self._worked(snap_of_file, content)
        if found is None:
            return
        given = (self._visit.site.store, self._run_id, content, self._is_kept())
        folder = self._visit.site.folder

        def keep() -> str:
            gloss.keep_snap(*given, folder, lambda _content: found)
            height = f"{found.centroid_hz / 1000:.1f}"
            return AFTER["snap_said"].format(loudness=f"{found.loudness_db:.0f}", height=height)

        self._told(self._visit.do("snap", keep))

    def _is_kept(self) -> bool:
        return self._which.value == "kept"

    async def _taken(self, event: UploadEventArguments) -> bytes:
        self._said.set(AFTER["gloss_wait"])
        content: bytes = await event.file.read()
        event.sender.reset()  # type: ignore[attr-defined]
        return content

    async def _worked(self, work: Callable[[bytes], Found], content: bytes) -> Found | None:
        """Reckon it in a process of its own; what it refuses is said, and None."""
        try:
            return await asyncio.to_thread(self._visit.site.heavily, work, content)
        except SnapglossError as fault:
            self._said.set("")
            self._visit.say(str(fault), is_bad=True)
            return None

    def _told(self, said: str | None) -> None:
        self._said.set(said or "")
        if said is not None:
            self._on_kept()
