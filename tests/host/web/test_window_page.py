"""The page of a chocolate's window, its picture, and the way there."""

import pickle
import re

from tests.host.web.conftest import Asker
from tests.host.windows import CHOCOLATE, keep_graded

from snapgloss.web.heavy import window_picture_of
from snapgloss.web.site import Site


def test_the_map_of_a_window(ask: Asker, site: Site) -> None:
    """A PNG for a chocolate with graded batches, made in the heavy process; else a sentence."""
    runs = keep_graded(site.store, [(28_000, 31_500, "sell")] * 5)
    got = ask("GET", f"/api/window.png?chocolate={CHOCOLATE.replace(' ', '%20')}")
    assert (got.status, got.headers["content-type"]) == (200, "image/png")
    assert got.body[:4] == b"\x89PNG"
    assert pickle.loads(pickle.dumps(window_picture_of)) is window_picture_of
    for query in ("", "chocolate=Nobody", f"chocolate={CHOCOLATE}&rig=none".replace(" ", "%20")):
        answer = ask("GET", f"/api/window.png?{query}")
        assert answer.status == 400
        assert "was graded" in answer.data["error"]
    page = ask("GET", f"/history?batch={runs[0]}").body.decode()
    (link,) = re.findall(r'href="(history\?window=[^"]*)"', page)
    shown = ask("GET", "/" + link.replace("&amp;", "&")).body.decode()
    assert "5 of 5 graded batches came out right." in shown
    assert 'src="api/window.png?chocolate=Copper+Fern+68&amp;rig=bench+rig"' in shown
    assert "°F" in shown
    gone = ask("GET", "/history?window=%3Cimg%20src=x%3E").body.decode()
    assert "No batch of &lt;img src=x&gt; was graded." in gone
