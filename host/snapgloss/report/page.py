"""The HTML report: one file that asks nothing of any other."""

import io
import re
import warnings

import matplotlib
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup
from matplotlib.figure import Figure

from rigfw.version import __version__
from snapgloss.base.units import show_h_mm
from snapgloss.quality.causes import stretch_words
from snapgloss.quality.event_words import STEP_WORDS, say_all
from snapgloss.quality.words import probe_caution, sentence, show_minutes, verdict
from snapgloss.report.figure import draw
from snapgloss.report.figure_rows import figure_rows
from snapgloss.report.palette import COLOURS
from snapgloss.report.picture import RunPicture, clock_time, day

METHODS = {"cooled": "cooling alone", "seeded": "seeded", "kept": "still in temper at the start"}


def page(run: RunPicture, fahrenheit: bool = False) -> str:
    """The whole report as HTML, with the picture inside."""
    environment = Environment(
        loader=PackageLoader("snapgloss.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template("report.html.j2").render(
        run=run,
        row=run.row,
        when=f"{day(run.row.started_utc_ms)}, {clock_time(run.row.started_utc_ms)}",
        method=METHODS.get(run.row.method, run.row.method),
        headline=run.headline,
        ended=ended_words(run),
        caution=caution_of(run),
        figures=figure_rows(run, fahrenheit),
        steps=step_rows(run),
        events=[
            # What the press of start set off comes a moment before the first reading.
            (show_h_mm(max(0, said.at_ms - run.zero_ms) / 1000), said.words)
            for said in say_all(run.events, fahrenheit)
        ],
        notes=[(clock_time(note.written_utc_ms), note.words) for note in run.notes],
        why=why_rows(run),
        colours=COLOURS,
        svg=Markup(_svg(draw(run, fahrenheit, header=False))),
        version=__version__,
    )


def caution_of(run: RunPicture) -> str:
    """What to mind about the probe; empty where it is good enough, or a logger's."""
    low_mc, high_mc = run.row.window_low_mc, run.row.window_high_mc
    return "" if run.is_log else probe_caution(low_mc, high_mc, run.probe_mc)


def ended_words(run: RunPicture) -> str:
    """How the run ended, without the verdict where the stored words repeat it."""
    return run.row.words.replace(sentence(verdict(run.figures)), "").strip()


def step_rows(run: RunPicture) -> list[tuple[str, str, str, str, str]]:
    """Name, began, reached, length and time inside its band of each step."""
    return [
        (
            STEP_WORDS.get(step.state, step.state),
            show_h_mm(step.began_s),
            "–" if step.reached_s is None else show_h_mm(step.reached_s),
            show_minutes((step.ended_s - step.began_s) / 60),
            "–" if step.in_min is None else show_minutes(step.in_min),
        )
        for step in run.figures.steps
    ]


def why_rows(run: RunPicture) -> list[tuple[str, str, str]]:
    """What, what to do and where it is seen, of each cause of bars that do not sell; what the
    sentence above has said of the first is not said again."""
    causes = run.why.causes if run.why else []
    rows = [(one.what, one.now, stretch_words(one, run.zero_ms)) for one in causes]
    return [("", "", f"Shaded {rows[0][2]}." if rows[0][2] else "")] + [
        (what, now, f"Seen {seen}." if seen else "") for what, now, seen in rows[1:]
    ] if rows else []  # fmt: skip


def _svg(figure: Figure) -> str:
    """The picture as an <svg> element whose colours follow the page's."""
    buffer = io.StringIO()
    # Text stays text: it can be read aloud and searched, and is a tenth of the size of outlines.
    with (
        matplotlib.rc_context({"svg.fonttype": "none", "svg.hashsalt": "snapgloss"}),
        warnings.catch_warnings(),
    ):
        warnings.filterwarnings("ignore", message="Glyph")
        figure.savefig(buffer, format="svg", transparent=True, metadata={"Date": None})
    svg = buffer.getvalue()
    svg = svg[svg.index("<svg") :]
    svg = re.sub(r"<metadata>.*?</metadata>", "", svg, flags=re.DOTALL)
    for colour in COLOURS:
        svg = svg.replace(colour.light, f"var(--{colour.name})")
    return svg
