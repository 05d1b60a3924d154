"""The paths of the record and the rig: search, curve, side by side, exports, report, learning."""

import csv
import io
import json
import pickle
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import duckdb
import jsonschema
import pytest
from tests.host.photographs import JPEG
from tests.host.synthetic import SEEDED, keep, synthetic
from tests.host.web.conftest import Asker

from snapgloss.base.errors import InputError, RigError
from snapgloss.quality.stop_remedies import REMEDIES
from snapgloss.report.export import schema_text
from snapgloss.runs import grading
from snapgloss.runs.demo import demo_schedule
from snapgloss.runs.photos import photo_kept
from snapgloss.schedules.files import to_text
from snapgloss.store import open_store
from snapgloss.store.store import Store
from snapgloss.web.heavy import Heavy, write_report_of
from snapgloss.web.site import Site

NAME = "<img src=x onerror=alert(1)>"


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """Three whole batches, the second of another name and graded."""
    with open_store(tmp_path_factory.mktemp("record")) as store:
        for nonce, name in enumerate(("Lantern 72", NAME, "Lantern 72")):
            keep(store, synthetic(SEEDED, nonce), boot_nonce=nonce, chocolate=name)
        store.add_grade(2, "seconds", ("film",), None, "")
        yield store


def test_the_list(ask: Asker) -> None:
    """The newest first, with grades and all names; a name with markup is data."""
    found = ask("GET", "/api/history").data
    assert [one["summary"]["run"] for one in found["batches"]] == [3, 2, 1]
    assert [one["grade"] for one in found["batches"]] == ["", "seconds", ""]
    assert found["chocolates"] == [NAME, "Lantern 72"]


def test_a_search(ask: Asker) -> None:
    """By what stands in the address; what nobody knows is left out."""
    query = "words=lantern&result=ungraded&since=2001-01-01&first=1&most=1&more=no"
    found = ask("GET", f"/api/history?{query}").data
    assert ([one["summary"]["run"] for one in found["batches"]], found["total"]) == ([1], 2)


@pytest.mark.parametrize(
    "query", ["result=great", "since=yesterday", "until=2026-13-01", "since=2026-02-02&until=2026"]
)
def test_a_search_that_cannot_be(ask: Asker, query: str) -> None:
    """Says why."""
    answer = ask("GET", f"/api/history?{query}")
    assert (answer.status, bool(answer.data["error"])) == (400, True)


def test_numbers_from_outside_are_bounded(ask: Asker) -> None:
    """A page is never larger than 200, and never less than one."""
    for most in ("999999999", "-1", "0", "x"):
        assert 1 <= len(ask("GET", f"/api/history?most={most}").data["batches"]) <= 3
    assert ask("GET", "/api/history?first=99999999999999999999").status == 200


def test_a_curve(ask: Asker) -> None:
    """For the width that is asked, with steps, window and marks."""
    found = ask("GET", "/api/batches/1/curve?width=400").data
    assert found["of"] == 148 * 60
    assert 400 < len(found["at_s"]) == len(found["product_mc"]) <= 2400
    assert [mark["words"] for mark in found["marks"]] == ["seed in 120 g", "pour"]
    assert (found["window_low_mc"], found["steps"][0]["words"]) == (31_000, "melt")


def test_side_by_side(ask: Asker) -> None:
    """Two strips, and a refusal with words for what cannot be."""
    found = ask("GET", "/api/beside?runs=1,2&at=cool").data
    assert [row["summary"]["run"] for row in found["rows"]] == [1, 2]
    for query in ("runs=1", "runs=1,x", "", "runs=1,2&at=boil", "runs=1,1"):
        assert ask("GET", f"/api/beside?{query}").status == 400


@pytest.mark.parametrize("path", ["/api/batches/99/curve", "/api/batches/0/export.csv",
                                  "/api/batches/99/export.json", "/api/batches/1/export.exe",
                                  "/api/export.html", "/api/batches/1/report.html",
                                  "/api/batches/1/report.toml"])  # fmt: skip
def test_what_is_not_there(ask: Asker, path: str) -> None:
    """Refused with words, and nothing of another file."""
    answer = ask("GET", path)
    assert (answer.status, set(answer.data)) == (400, {"error", "remedy"})


def test_exports(ask: Asker, tmp_path: Path) -> None:
    """As the command line gives them: JSON by its schema, CSV, Parquet; each as a file."""
    whole = ask("GET", "/api/batches/1/export.json")
    jsonschema.validate(whole.data, json.loads(schema_text()))
    assert whole.headers["content-disposition"] == 'attachment; filename="run-1.json"'
    rows = list(csv.DictReader(io.StringIO(ask("GET", "/api/batches/1/export.csv").body.decode())))
    assert len(rows) == 148 * 60
    table = tmp_path / "batches.parquet"
    table.write_bytes(ask("GET", "/api/export.parquet").body)
    names = duckdb.read_parquet(str(table)).project("chocolate").fetchall()
    assert [name for (name,) in names] == ["Lantern 72", NAME, "Lantern 72"]
    listed = ask("GET", "/api/export.csv")
    assert listed.headers["content-type"].startswith("text/csv")
    assert len(listed.body.decode().splitlines()) == 4


def test_a_report_by_one_touch(ask: Asker, site: Site, lines) -> None:
    """Made where the command line makes it, and then to be looked at; written down."""
    site.folder.joinpath("x").touch()
    made: list[tuple[object, ...]] = []

    def make(folder: Path, run: int, fahrenheit: bool) -> str:
        made.append((folder, run, fahrenheit))
        (folder / "reports").mkdir()
        (folder / "reports" / "run-2.html").write_text("<p>told</p>", encoding="utf-8")
        return ""

    site.heavy = DoneHere({write_report_of: make})
    told = ask.command("report", {"run": 2, "fahrenheit": True})
    assert told.data["words"] == "/api/batches/2/report.html"
    assert made == [(site.folder, 2, True)]
    answer = ask("GET", told.data["words"])
    assert (answer.body, answer.headers["content-type"]) == (
        b"<p>told</p>", "text/html; charset=utf-8")  # fmt: skip
    assert any("report 2" in line for line in lines())
    assert ask.command("report", {"run": 0}).status == 400
    assert ask("GET", "/api/report").status == 405


class DoneHere(Heavy):
    """Does its work in this process, some of it by a stand-in."""

    def __init__(self, instead: dict[object, object]) -> None:
        self._instead = instead

    def begin(self, work, *given, **named):
        from concurrent.futures import Future

        done: Future = Future()
        try:
            done.set_result(self._instead[work](*given, **named))
        except BaseException as fault:
            done.set_exception(fault)
        return done


def test_a_refusal_comes_back_from_the_other_process() -> None:
    """Errors with two parts survive the way between processes."""
    for fault in (InputError("a", "b"), RigError("c", "d")):
        again = pickle.loads(pickle.dumps(fault))
        assert (type(again), again.message, again.remedy) == (
            type(fault), fault.message, fault.remedy)  # fmt: skip


def test_photos_are_found_by_number_alone(ask: Asker, site: Site) -> None:
    """As they were kept and of their type; a name that is none of ours leads nowhere."""
    picture = JPEG
    grading.grade(site.store, 2, "seconds", ("film",), picture, "", site.folder)
    got = ask("GET", "/api/batches/2/photos/1")
    assert (got.status, got.body, got.headers["content-type"]) == (200, picture, "image/jpeg")
    for path in ("2/photos/2", "2/photos/0", "1/photos/1", "99/photos/1"):
        assert ask("GET", f"/api/batches/{path}").status == 400
    (site.folder / "page-key").write_text("a key")
    names = ["page-key", "photos/../page-key", "photos/run-1-00000000.svg", ""]
    for number in range(6):
        with pytest.raises(InputError, match="no such photo"):
            photo_kept(names, number, site.folder)


def test_the_rig(ask: Asker) -> None:
    """What is known of it, and whether it is being learned."""
    found = ask("GET", "/api/rig").data
    assert (found["rig"], found["is_learning"], found["heat"]) == ("bench rig", False, [])
    assert len(found["all_stops"]) == len(REMEDIES) - 1


def test_learning_is_begun_once(ask: Asker, site: Site, lines) -> None:
    """A second touch while it goes on begins nothing; anybody may, and it is written down."""
    from concurrent.futures import Future

    begun: list[tuple[object, ...]] = []

    class Slow(DoneHere):
        def begin(self, work, *given, **named):
            begun.append(given)
            return Future()

    site.heavy = Slow({})
    assert ask.command("learn").status == 200
    assert ask.command("learn").status == 200
    assert [given[1:] for given in begun] == [(site.folder, site.session.rig, True)]
    assert ask("GET", "/api/rig").data["is_learning"] is True
    assert len([line for line in lines() if "learn the rig" in line]) == 2


def test_learning_in_this_process(ask: Asker, site: Site) -> None:
    """Without a process for heavy work it is done at once; a record without schedules teaches
    that nothing can be learned, and says so."""
    site.session.feed.tell(replace(site.session.feed.moment, is_there=True))
    assert ask.command("learn").status == 200
    assert ask("GET", "/api/rig").data["is_learning"] is False


def test_steps_are_begun_answered_and_left(ask: Asker, site: Site, lines) -> None:
    """Over the desk, with a name; a second time, a batch meanwhile, bad answers: refused."""
    assert ask("GET", "/api/proving").data["is_on"] is False
    assert ask.command("prove_answer", {"number": 1, "answer": "yes"}).status == 400
    assert ask.command("prove_end").status == 400
    assert ask.command("prove", {"name": " "}).status == 400
    assert ask.command("prove", {"name": "Ada", "only": ["none"]}).status == 400
    assert ask.command("prove", {"name": "Ada", "only": ["fuses"]}).status == 200
    found = ask("GET", "/api/proving").data
    assert (found["is_on"], found["steps"]) == (True, 1)
    assert ask.command("prove", {"name": "Ada"}).status == 409
    assert ask.command("stage", {"schedule": to_text(demo_schedule())}).status == 409
    for wrong in ({"number": 1}, {"number": 1, "answer": "yes", "figure": 1.0},
                  {"number": 1, "figure": "9"}, {"number": 0, "answer": "yes"}):  # fmt: skip
        assert ask.command("prove_answer", wrong).status == 400
    assert ask.command("prove_end").status == 200
    assert any("commissioning  The first step" in line for line in lines())
    site.session.proving = None
