"""Grading by one touch; what it is and a photo after it, for whoever likes."""

from collections.abc import Callable

from nicegui import ui
from nicegui.events import UploadEventArguments

from snapgloss.quality import grades
from snapgloss.runs import grading
from snapgloss.runs.why import why_bad
from snapgloss.web.pages.parts.touches import TOUCH, Several, Told, heading, touch
from snapgloss.web.pages.parts.visit import Visit
from snapgloss.web.serve import PHOTO_MOST_BYTES
from snapgloss.web.site import Site
from snapgloss.web.words_after import AFTER, MARKS

VERDICTS = ("sell", "seconds", "remelt")
COMPARED = 2
"""Good batches that bad bars are held against: more would take longer than a blink."""


class GradesView:
    """The bars of one batch; `on_kept` is called after each entry."""

    def __init__(self, visit: Visit, run_id: int, on_kept: Callable[[], None]) -> None:
        self._visit, self._run_id, self._on_kept = visit, run_id, on_kept
        heading(AFTER["grade"])
        with ui.element("div").classes("verdicts"):
            for verdict in VERDICTS:
                touch(AFTER[verdict], self._grade_as(verdict), f"grade-{verdict}", verdict)
        self._said = Told(classes="answer", is_status=True)
        self._points = Told(classes="quiet")
        self._more = ui.element("div").classes("more-of-it")
        with self._more:
            ui.label(AFTER["marks"]).classes("quiet")
            self._marks = Several(AFTER["marks"], MARKS, lambda: None, "mark")
            with ui.element("div").classes("ends"):
                touch(AFTER["marks_keep"], self._keep_marks, "marks-keep")
                self._photo()
        self._photos = ui.element("div").classes("photos")
        self._verdict = ""
        self._show(self._standing())

    def _photo(self) -> None:
        upload = ui.upload(
            label=AFTER["photo"], auto_upload=True, max_file_size=PHOTO_MOST_BYTES,
            on_upload=self._keep_photo,
            on_rejected=lambda: self._visit.say(AFTER["photo_large"], is_bad=True),
        )  # fmt: skip
        upload.props('accept="image/*" capture=environment').classes("photo").mark("photo")
        pick = f"() => getElement({upload.id}).pickFiles()"  # a picker opens only for a touch here
        ui.button(AFTER["photo"], color=None).props(TOUCH).classes("touch").on(
            "click", js_handler=pick
        )

    def _grade_as(self, verdict: str) -> Callable[[], None]:
        return lambda: self._grade(verdict)

    def _grade(self, verdict: str) -> None:
        """One touch; marks of another grade are not taken along."""
        is_same = verdict == self._verdict
        self._keep(verdict, tuple(sorted(self._marks.value)) if is_same else ())

    def _keep_marks(self) -> None:
        self._keep(self._verdict, tuple(sorted(self._marks.value)))

    async def _keep_photo(self, event: UploadEventArguments) -> None:
        content = await event.file.read()
        event.sender.reset()  # type: ignore[attr-defined]
        if self._keep(self._verdict, tuple(sorted(self._marks.value)), content):
            self._visit.say(AFTER["photo_kept"])

    def _keep(self, verdict: str, marks: tuple[str, ...], photo: bytes | None = None) -> bool:
        site, run_id = self._visit.site, self._run_id
        kept: list[grades.Standing] = []

        def graded() -> str:
            kept.append(grading.grade(site.store, run_id, verdict, marks, photo, "", site.folder))
            return kept[0].words

        if self._visit.do(f"grade {verdict}", graded) is None:
            return False
        self._show(kept[0])
        self._on_kept()
        return True

    def _standing(self) -> grades.Standing | None:
        """What counts of the newest look."""
        taken = grading.bars_summary(self._visit.site.store, self._run_id).standings
        return taken[-1] if taken else None

    def _show(self, standing: grades.Standing | None) -> None:
        self._more.set_visibility(standing is not None)
        if standing is None:
            return
        self._verdict = standing.verdict
        self._marks.set(standing.marks)
        said = AFTER["kept"].format(words=standing.words)
        later = AFTER["to_remelt"] if standing.verdict == "remelt" else AFTER["again"]
        self._said.set(f"{said} {later}")
        summary = grading.bars_summary(self._visit.site.store, self._run_id)
        self._points.set(_because(self._visit.site, self._run_id, summary.points_to))
        self._show_photos(len(summary.photos))

    def _show_photos(self, count: int) -> None:
        """Small, each a link to the whole one."""
        self._photos.clear()
        with self._photos:
            for number in range(1, count + 1):
                path = f"api/batches/{self._run_id}/photos/{number}"
                words = AFTER["photo_shown"].format(number=number, count=count)
                with ui.element("a").props(f'href="{path}"'):
                    ui.element("img").props(f'src="{path}" alt="{words}" loading="lazy"')


def _because(site: Site, run_id: int, points_to: grades.Points) -> str:
    """Bowl or refrigerator and what to change, if the record explains it; else where to look."""
    found = why_bad(site.store, run_id, compared=COMPARED)
    if found is None or not found.causes:
        return grades.POINTS_WORDS[points_to]
    return f"{found.words} {found.remelt}".strip()
