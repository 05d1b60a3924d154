"""The pages of the record and the rig, built by NiceGUI in this process."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.host.synthetic import SEEDED, keep, synthetic
from tests.host.web.conftest import Asker

from snapgloss.runs import learning
from snapgloss.runs.outcome import keep_figures
from snapgloss.runs.rig_state import HeatFigure
from snapgloss.store import open_store
from snapgloss.store.store import Store
from snapgloss.web.nonce import SCRIPT
from snapgloss.web.pages.history import words as history_words
from snapgloss.web.pages.rig.page import drift_words
from snapgloss.web.pages.rig.words import RIG
from snapgloss.web.static import ASSETS

NAME = '<script>alert("1")</script> 72'


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """One graded batch with a note, both with markup, and one more."""
    with open_store(tmp_path_factory.mktemp("record")) as store:
        for nonce, name in enumerate((NAME, "Fogbell 41")):
            run = keep(store, synthetic(SEEDED, nonce), boot_nonce=nonce, chocolate=name)
            keep_figures(store, run)
        store.add_grade(1, "sell", (), None, "")
        store.add_note(1, f"Said {NAME}")
        yield store


def html_of(ask: Asker, path: str) -> str:
    """The page as it is sent, before any script."""
    got = ask("GET", path)
    assert got.status == 200
    html = got.body.decode()
    assert "'unsafe-eval'" not in got.headers["content-security-policy"]
    assert '<form class="snap-off" id="snap-off" method="post" action="api/off"' in html
    assert not re.search(r'(?:src|href)="(?:https?:)?//', html)
    assert len(SCRIPT.findall(html.encode())) == html.count("<script")
    assert "built-in method" not in html
    return html


def test_the_list_can_be_searched_without_a_mouse(ask: Asker) -> None:
    """Every filter has its name beside it, inside the label; all results can be chosen."""
    html = html_of(ask, "/history")
    for name in ("words", "chocolate", "result", "since", "until"):
        assert re.search(rf'<label[^>]*><span>[^<]+</span>\s*<(?:input|select)[^>]*name="{name}"',
                         html)  # fmt: skip
    for key in history_words.RESULTS:
        assert f'<option value="{key}">' in html


def test_one_batch(ask: Asker) -> None:
    """Grade, figures in both scales, notes, events, exports; markup is text."""
    html = html_of(ask, "/history?batch=1")
    assert NAME not in html
    assert "&lt;script&gt;alert(&#34;1&#34;)&lt;/script&gt; 72" in html
    assert "Sell at first." in html
    assert re.search(r'<span data-f="\d\d\.\d °F">\d\d\.\d °C</span>', html)
    assert 'data-f="Window 87.8 °F to 89.6 °F, working at 88.7 °F"' in html
    assert "seed in, 120 g" in html
    for kind in ("csv", "json", "parquet"):
        assert f'href="api/batches/1/export.{kind}"' in html


@pytest.mark.parametrize("asked", ["99", "0", "-1", "x", "1;2", "99999999999999"])
def test_a_batch_that_is_not_there(ask: Asker, asked: str) -> None:
    """Said, with the way back."""
    html = html_of(ask, f"/history?batch={asked}")
    assert "There is no batch" in html and 'href="history"' in html


def test_side_by_side_takes_numbers_alone(ask: Asker) -> None:
    """What else stands in the address is left out, and an unknown step is the usual one."""
    html = html_of(ask, "/history?beside=1,2,%22%3E%3Cb%3E&at=%22%3E%3Cb%3E")
    assert 'data-runs="1,2" data-at="cool"' in html


def test_the_rig_that_answers(ask: Asker) -> None:
    """Its firmware, what is due, each step, and every stop with what to do."""
    html = html_of(ask, "/rig")
    assert "own: a simulated rig runs it." in html
    assert "without one the rig gets at most 20 W" in html
    assert "Make safe whatever made you press." in html
    assert RIG["heat_none"] in html


def test_what_was_learned_is_shown(ask: Asker, tmp_path: Path) -> None:
    """A figure, how sure, and as described."""
    from snapgloss.rigs.heat_model import FIGURES

    fit = learning.KeptFit(4, "bench rig", True, 0, dict.fromkeys(FIGURES, 5.25),
                           dict.fromkeys(FIGURES, 0.1), 4, 0.05, "")  # fmt: skip
    learning.sheets.append(tmp_path / learning.FILE, fit._asdict())
    html = html_of(ask, "/rig")
    assert re.search(r"5\.25 W/K <small>± 10 %</small>", html)
    assert "Learned from batch 4" in html


def test_how_a_drift_is_said() -> None:
    """Steady, too few batches, or by how much."""
    figure = HeatFigure("Fan", "W/K", 2.0, 3.0, 3.0, -0.23, "the fan takes less heat")
    assert drift_words(figure) == "-23 %: the fan takes less heat"
    assert drift_words(figure._replace(moves="")) == RIG["steady"]
    assert drift_words(figure._replace(change=None, moves="")) == RIG["too_few"]


def test_scripts_name_sentences_that_there_are() -> None:
    """Those of the pages' own words."""
    known = {
        **history_words.HISTORY, **history_words.BATCH, **history_words.BESIDE, **RIG,
        "outcomes": 1, "grades": 1,
    }  # fmt: skip
    scripts = [ASSETS.all[name].decode() for name in ("history.js", "batch.js", "beside.js",
                                                      "rig.js", "prove.js")]  # fmt: skip
    named = {name for text in scripts for name in re.findall(r"\bown\.([a-z_]+)", text)}
    assert named - set(known) == set()
    assert len(named) > 20
