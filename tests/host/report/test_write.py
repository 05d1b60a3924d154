"""The report as written: complete, self-contained, escaped, labelled, whole or not at all."""

import re
import subprocess
import sys
from html.parser import HTMLParser
from itertools import count

import pytest
from matplotlib.collections import FillBetweenPolyCollection

from snapgloss.base.errors import InputError, StoreError
from snapgloss.base.records import Identity
from snapgloss.report import write, write_report
from snapgloss.report.curves import curves_of
from snapgloss.report.figure import draw
from snapgloss.report.picture import picture_of

from ..synthetic import COOLED, SEEDED, Synthetic, keep, synthetic

SHORT = tuple((state, max(1, m // 10), *rest) for state, m, *rest in SEEDED)
PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"  # PNG specification (W3C), section 5.2


class _Page(HTMLParser):
    """Collects tags, addresses and text."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.addresses: list[str] = []
        self.words: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.addresses += [v or "" for name, v in attrs if name in ("src", "href", "xlink:href")]

    def handle_data(self, data):
        if self.tags[-1:] != ["style"]:
            self.words.append(data)

    @property
    def text(self) -> str:
        """All text, one space between words."""
        return " ".join(" ".join(self.words).split())


def _report(store, tmp_path, run: Synthetic | None = None, fahrenheit=False, **changes):
    run_id = keep(store, run or synthetic(SHORT), **changes)
    paths = write_report(store, run_id, tmp_path / "out", fahrenheit)
    return paths, _Page(paths.html.read_text("utf-8"))


def _words_of(figure) -> str:
    return " | ".join(t.get_text() for t in figure.findobj(lambda a: hasattr(a, "get_text")))


def test_both_files_are_written_and_nothing_else(store, tmp_path):
    """A page and a picture by the run's number; no half-written file is left beside them."""
    paths, _ = _report(store, tmp_path)
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == [
        "run-1.html",
        "run-1.pdf",
        "run-1.png",
    ]
    assert paths.png.read_bytes().startswith(PNG_SIGNATURE)


def test_the_page_asks_nothing_of_any_other(store, tmp_path):
    """No script, no picture or style from elsewhere: every address is inside the page."""
    paths, page = _report(store, tmp_path)
    assert not {"script", "link", "iframe", "img"} & set(page.tags)
    assert all(address.startswith(("#", "data:")) for address in page.addresses)
    html = re.sub(r'xmlns(:\w+)?="[^"]*"', "", paths.html.read_text("utf-8"))
    assert not re.search(r"https?://|@import|url\((?!#)", html)


def test_the_table_has_the_figures_of_the_run(store, tmp_path):
    """Figures, steps, events in words and notes are on the page, with their units."""
    run_id = keep(store, synthetic(COOLED), method="cooled", simulated=False)
    store.add_note(run_id, "Thick at the end.")
    figures = picture_of(store, run_id).figures
    page = _Page(write_report(store, run_id, tmp_path).html.read_text("utf-8"))
    assert f"Peak on the rewarm {figures.peak_rewarm_c:.1f} °C" in page.text
    assert f"Lowest point {figures.lowest_c:.1f} °C" in page.text
    assert f"Above the working target by {figures.overshoot_c:.2f} °C" in page.text
    assert "Probe within ±0.5 °C" in page.text
    assert "Longest gap in the record none" in page.text
    assert "minutes in the window" in page.text
    assert re.search(r"rewarm 1:42 1:4\d 5 min", page.text)
    assert "Thick at the end." in page.text
    assert "pouring begins: 19 portions, 1.805 kg in 36 min" in page.text


def test_a_simulated_run_says_so_on_page_and_picture(store, tmp_path):
    """Simulated is called simulated on the page, in its title, and in the picture."""
    _, page = _report(store, tmp_path)
    assert "Simulated: a virtual rig made this record." in page.text
    assert "(simulated)" in page.text
    assert "SIMULATED" in _words_of(draw(picture_of(store, 1)))


def test_a_real_run_does_not(store, tmp_path):
    """The label is not simply always there."""
    _, page = _report(store, tmp_path, simulated=False)
    assert "imulated" not in page.text
    assert "SIMULATED" not in _words_of(draw(picture_of(store, 1)))


@pytest.mark.parametrize(
    "name", ['Ferry "Milk" <48>', "<script>alert(1)</script>", "$x_{1$ & $\\frac$", "白いチョコ"]
)
def test_names_are_shown_as_typed(store, tmp_path, name):
    """Quotes, tags, formula signs and letters we have no glyph for come through as text."""
    run_id = keep(store, synthetic(SHORT), chocolate=name, workshop=name, rig=name)
    store.add_note(run_id, name)
    page = _Page(write_report(store, run_id, tmp_path).html.read_text("utf-8"))
    assert "script" not in page.tags
    assert page.text.count(" ".join(name.split())) >= 4


def test_fahrenheit_is_everywhere_or_nowhere(store, tmp_path):
    """Asked for Fahrenheit, no Celsius is left on the page or in the picture, and the reverse."""
    _, page = _report(store, tmp_path, fahrenheit=True)
    assert "°C" not in page.text and "87.8 °F to 89.6 °F" in page.text
    assert "°C" not in _words_of(draw(picture_of(store, 1), fahrenheit=True))
    _, page = _report(store, tmp_path)
    assert "°F" not in page.text


def test_the_picture_follows_the_page_into_the_dark(store, tmp_path):
    """In the page's picture no colour of the palette is fixed: each follows a variable."""
    paths, _ = _report(store, tmp_path)
    html = paths.html.read_text("utf-8")
    svg = html[html.index("<svg") : html.index("</svg>")]
    assert "var(--chocolate)" in svg and "var(--window)" in svg
    assert not re.search(r"(fill|stroke): ?#(?!000000|ffffff)", svg)


def test_a_gap_is_seen_and_told(store, tmp_path):
    """A hole in the record is in the sentence and hatched in the picture, not drawn over."""
    whole = synthetic(COOLED)
    holed = Synthetic([r for r in whole.readings if not 7000 < r.seq < 7240], whole.events)
    _, page = _report(store, tmp_path, holed)
    assert "4 min more not recorded" in page.text
    assert "Longest gap in the record 4 min" in page.text
    figure = draw(picture_of(store, 1))
    assert sum(patch.get_hatch() is not None for a in figure.axes for patch in a.patches) == 3


@pytest.mark.parametrize("readings", [0, 1, 2])
def test_a_run_of_next_to_nothing_still_has_a_report(store, tmp_path, readings):
    """Stopped at once: the page says that it never came to work, and nothing fails."""
    whole = synthetic(SHORT)
    _, page = _report(store, tmp_path, Synthetic(whole.readings[:readings], []))
    assert "ever came to the working temperature" in page.text
    assert "Nothing was recorded." in page.text


def test_no_report_of_a_run_that_is_not_there(store, tmp_path):
    """A wrong number is a StoreError, and no folder is made."""
    with pytest.raises(InputError, match="no run 5"):
        write_report(store, 5, tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_a_folder_that_cannot_be_written_is_named(store, tmp_path):
    """A file where the folder should be gives a sentence."""
    (tmp_path / "out").write_text("")
    with pytest.raises(StoreError, match="could not be written") as caught:
        _report(store, tmp_path)
    assert caught.value.remedy


def test_a_report_is_replaced_whole_or_not_at_all(store, tmp_path, monkeypatch):
    """When the last step fails the old report is untouched and nothing is left beside it."""
    paths, _ = _report(store, tmp_path)
    before = paths.html.read_bytes()

    def fail(_self, _target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(write.Path, "replace", fail)
    with pytest.raises(StoreError, match="No space"):
        write_report(store, 1, tmp_path / "out")
    assert paths.html.read_bytes() == before
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == [
        "run-1.html",
        "run-1.pdf",
        "run-1.png",
    ]


def test_the_same_run_gives_the_same_page(store, tmp_path):
    """No random names and no time of writing in the page: twice written, twice the same."""
    run_id = keep(store, synthetic(SHORT))
    one = write_report(store, run_id, tmp_path / "one").html.read_bytes()
    assert write_report(store, run_id, tmp_path / "two").html.read_bytes() == one


def test_importing_the_package_loads_no_drawing_library():
    """`import snapgloss.report` stays cheap, and no report ever loads pyplot."""
    code = "import sys, snapgloss.report; print('matplotlib' in sys.modules)"
    code += "; import snapgloss.report.write; print('matplotlib.pyplot' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]


def test_a_run_over_a_reset_is_one_report(store, tmp_path):
    """Two boots make one picture: the reset is a gap of the host's minutes, not a fold in time."""
    whole = synthetic(COOLED)
    run_id = keep(store, Synthetic(whole.readings[:7000], []))
    after = [r._replace(seq=n, at_ms=n * 1000) for n, r in enumerate(whole.readings[7000:])]
    identity = Identity("virtual-1", 8, "0.1.0", 1, 0, "", "off", 55000, 100, 0, 0, 0, 0, True)
    boot = store.boot_id(identity)
    store.add_part(run_id, boot, 0)
    store.add_readings(boot, after)
    run = picture_of(store, run_id)
    minutes = curves_of(run.readings, run.zero_ms, fahrenheit=False).minutes
    assert (minutes[1:] > minutes[:-1]).all()
    assert len(run.readings) == len(whole.readings)
    assert write_report(store, run_id, tmp_path).png.exists()


def test_hands_in_the_bowl_are_told_apart(store, tmp_path):
    """Time with the bowl lifted has a row of its own and is no time outside the window."""
    whole = synthetic(COOLED)
    lifted = [r._replace(state="hands_in") if 8000 <= r.seq < 8300 else r for r in whole.readings]
    _, page = _report(store, tmp_path, Synthetic(lifted, whole.events))
    assert "Hands in the bowl 5 min" in page.text
    assert "Outside it never" in page.text


def test_time_outside_is_filled_in_the_close_look(store):
    """Over and under in the work are filled, each in its colour; a run inside has neither."""
    whole = synthetic(COOLED)
    off = [
        r._replace(product_mc=32_600) if 8000 <= r.seq < 8100
        else r._replace(product_mc=30_500) if 8400 <= r.seq < 8500 else r
        for r in whole.readings
    ]  # fmt: skip

    def filled(run: Synthetic) -> int:
        close = draw(picture_of(store, keep(store, run, boot_nonce=next(nonces)))).axes[2]
        fills = [c for c in close.collections if isinstance(c, FillBetweenPolyCollection)]
        return sum(len(fill.get_paths()) > 0 for fill in fills)

    nonces = count()
    assert filled(whole) == 0
    assert filled(Synthetic(off, whole.events)) == 2
    lifted = [r._replace(state="hands_in") if 7990 <= r.seq < 8110 else r for r in off]
    assert filled(Synthetic(lifted, whole.events)) == 2  # the shade of hands in, and the under


def test_a_record_that_was_cut_off_gets_no_verdict_on_what_it_does_not_hold(store, tmp_path):
    """Killed in the melt: the page says unfinished, not that the work was never reached."""
    whole = synthetic(COOLED)
    run_id = keep(store, Synthetic(whole.readings[:1000], []))
    store.end_run(run_id, 1_000_000, "unfinished", "")
    page = _Page(write_report(store, run_id, tmp_path).html.read_text("utf-8"))
    assert (
        "Unfinished: under way when this was written, or the record ended before the batch."
        in page.text
    )
    assert "ever came to the working temperature" not in page.text
