"""A batch tempered by hand comes into the record from a logger's file, and counts."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

HEAD = "Marble & Co logger;serial 4\n\nZeit;Probe 1 (°C);Akku\n"


def _log(path: Path, every_s: int = 10) -> Path:
    """20 min of melt, 20 min down to 27.5, 5 min up, 30 min of work at 31.5."""
    rows = []
    for at_s in range(0, 75 * 60, every_s):
        minute = at_s / 60
        if minute < 20:
            c = 45.0
        elif minute < 40:
            c = 45.0 - (minute - 20) * 17.5 / 20
        elif minute < 45:
            c = 27.5 + (minute - 40) * 4.0 / 5
        else:
            c = 31.5
        clock = f"25.11.2026 {10 + at_s // 3600}:{at_s // 60 % 60:02d}:{at_s % 60:02d}"
        rows.append(f"{clock};{c:.2f};98".replace(".", ",").replace(",11,", ".11."))
    path.write_text((HEAD + "\n".join(rows)), encoding="cp1252")
    return path


STEPS = ("--step", "cool=20 min", "--step", "rewarm=40 min", "--step", "work=45 min")
WHAT = ("--time", "Zeit", "--celsius", "Probe 1 (°C)", "--zone", "Europe/Berlin", "--chocolate",
        "Lantern 72", "--method", "cooled", "--mass", "1 kg")  # fmt: skip


def test_a_hand_tempered_batch_is_recorded_with_its_figures(call: Any, tmp_path: Path) -> None:
    """Lowest point, rates and window come out as the log was made; it is shown and reported."""
    answer = call("import", str(_log(tmp_path / "log.csv")), *WHAT, *STEPS)
    assert answer.out == "Run 1. Read from a log. Stayed 30 of 30 minutes in the window.\n"
    figures = call("figures", "1", "--json").value
    assert figures["lowest_c"] == pytest.approx(27.5, abs=0.02)
    assert figures["fall_c_per_min"] == pytest.approx(-0.875, abs=0.01)
    assert figures["rewarm_c_per_min"] == pytest.approx(0.8, abs=0.01)
    assert (figures["gap_count"], figures["longest_gap_s"]) == (0, 0)
    assert figures["minutes_in_window"] == pytest.approx(29.83, abs=0.01)
    assert figures["energy_wh"] is None
    shown = call("show", "1", "--json").value
    assert (shown["began"], shown["rig"]) == ("2026-11-25T09:00:00Z", "by hand")
    assert call("grade", "1", "sell").code == 0
    html = Path(call("report", "1", "--json").value["html"]).read_text(encoding="utf-8")
    assert "by hand" in html and "nothing was recorded" not in html
    assert call("charts", "lowest_c").out.startswith("Lantern 72, by hand\n")
    assert "no rig ran it" in call("learn", "1").err


def test_two_logs_of_other_paces_lie_side_by_side(call: Any, tmp_path: Path) -> None:
    """One reading in 10 s and one in 30 s: the same batch, and no gap in either."""
    for every_s in (10, 30):
        assert call("import", str(_log(tmp_path / f"{every_s}.csv", every_s)), *WHAT,
                    *STEPS).code == 0  # fmt: skip
    assert (
        call("compare", "1", "2").out == "Run 2 stays with run 1 from cooling on, within noise.\n"
    )
    assert call("figures", "2", "--json").value["gap_count"] == 0


def test_the_same_log_is_taken_once(call: Any, tmp_path: Path) -> None:
    """A second time it names the run that it is."""
    path = str(_log(tmp_path / "log.csv"))
    call("import", path, *WHAT, *STEPS)
    again = call("import", path, *WHAT, *STEPS)
    assert (again.code, "in the record already: run 1" in again.err) == (2, True)
    assert len(call("runs", "--json").value) == 1


def test_a_lowest_point_beside_a_pause_is_not_sure(call: Any, tmp_path: Path) -> None:
    """The logger was off as the chocolate turned; the batch says so for good."""
    path = _log(tmp_path / "log.csv")
    lines = path.read_text(encoding="cp1252").splitlines()
    kept = [one for one in lines if not "25.11.2026 10:37" < one < "25.11.2026 10:42"]
    path.write_text("\n".join(kept), encoding="cp1252")
    call("import", str(path), *WHAT, *STEPS)
    words = call("runs", "--json").value[0]["words"]
    assert words.endswith("Its lowest point is not sure: it lies beside a pause of 5 min.")


def test_one_line_more_is_the_same_log(call: Any, tmp_path: Path) -> None:
    """The readings count, not the bytes."""
    path = _log(tmp_path / "log.csv", 60)
    call("import", str(path), *WHAT, *STEPS)
    path.write_bytes(path.read_bytes() + b"\r\n")
    again = call("import", str(path), *WHAT, *STEPS)
    assert (again.code, "in the record already: run 1" in again.err) == (2, True)
    assert len(call("runs", "--json").value) == 1


def test_a_log_read_wrongly_is_read_again_instead(call: Any, tmp_path: Path) -> None:
    """The wrong run is kept, says what replaced it, and counts nowhere; twice over."""
    path = str(_log(tmp_path / "log.csv", 60))
    wrong = ("--step", "work=20 min")
    call("import", path, *WHAT, *wrong)
    call("note", "1", "By the window.")
    answer = call("import", path, *WHAT, *STEPS, "--instead", "1")
    assert (answer.code, "Run 1 is kept and counts no more. Its grades" in answer.out) == (0, True)
    assert [run["run"] for run in call("runs", "--json").value] == [2]
    listed = call("runs", "--replaced", "--json").value
    assert [run["run"] for run in listed] == [2, 1]
    assert [run["words"].startswith("Run 2 stands instead.") for run in listed] == [False, True]
    assert "1 batch" in call("charts", "lowest_c").out
    assert "read wrongly: run 2 stands instead" in call("show", "1").out
    assert call("export", "1", "--as", "csv").out.count("\n") == 76
    refused = call("import", path, *WHAT, *STEPS, "--instead", "1")
    assert (refused.code, "replaced already. Run 2 stands" in " ".join(refused.err.split())) == (
        2,
        True,
    )
    assert "in the record already: run 2" in call("import", path, *WHAT, *STEPS).err
    assert call("import", path, *WHAT, *STEPS, "--instead", "2").code == 0
    assert [run["run"] for run in call("runs", "--json").value] == [3]
    assert "There is no run 9" in call("import", path, *WHAT, *STEPS, "--instead", "9").err


def test_a_log_of_days_to_come_is_refused(call: Any, tmp_path: Path) -> None:
    """A day ahead may be a zone; two days are a wrong day."""
    path = tmp_path / "log.csv"
    path.write_text("s,T\n" + "\n".join(f"{10 * n},31.5" for n in range(60)))
    what = ("--seconds", "s", "--celsius", "T", "--zone", "UTC", "--chocolate", "Lantern 72",
            "--step", "work=0 s")  # fmt: skip
    for days, code in ((2, 2), (365 * 70, 2), (0.9, 0)):
        began = datetime.now(UTC) + timedelta(days=days)
        answer = call("import", str(path), *what, "--began", f"{began:%Y-%m-%d %H:%M}")
        assert (answer.code, "which is yet to come" in answer.err) == (code, code == 2)
    assert len(call("runs", "--json").value) == 1


def test_the_newest_is_the_one_made_last(call: Any, tmp_path: Path) -> None:
    """A log read last that was made first stands last, in the list and among bars to grade."""
    path = tmp_path / "log.csv"
    days = [datetime.now(UTC) - timedelta(days=day) for day in (2, 4, 3)]
    for number, day in enumerate(days):
        path.write_text("s,T\n" + "\n".join(f"{10 * n},31.{number}" for n in range(60)))
        what = ("--seconds", "s", "--celsius", "T", "--zone", "UTC", "--step", "work=0 s")
        began = f"{day:%Y-%m-%d %H:%M}"
        call("import", str(path), *what, "--chocolate", "Lantern 72", "--began", began)
    assert [run["run"] for run in call("runs", "--json").value] == [1, 3, 2]
    assert [look["run"] for look in call("grade", "--json").value] == [1, 3, 2]


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ((), "does not say when work began"),
        (("--step", "work=2 h"), "after the log, which ends at 1 h 14 min"),
        (("--step", "work=5 min", "--step", "cool=10 min"), "not in their order"),
        (("--step", "work=5 min", "--step", "stir=1 min"), '"stir" is no step'),
        (("--step", "work=5"), "has no unit"),
        (("--step", "work=5 min", "--window-low", "31 C"), "A window has two edges"),
        (
            ("--step", "work=5 min", "--window-low", "32 C", "--window-high", "31 C"),
            "low 32 C is not below high 31 C",
        ),
        (
            ("--step", "work=5 min", "--window-low", "10 C", "--window-high", "60 C"),
            "60 C loses the temper of dark chocolate",
        ),
        (
            ("--step", "work=5 min", "--window-low", "10 C", "--window-high", "32 C"),
            "10 C thickens dark chocolate",
        ),
        (("--step", "work=5 min", "--work", "100 F"), "37.778 C is outside the window of 31 C"),
        (
            ("--step", "work=5 min", "--window-low", "30 C", "--window-high", "31 C"),
            "31.5 C is outside the window of 30 C to 31 C; give the temperature meant for work",
        ),
        (("--step", "work=5 min", "--mass", "0 kg"), "0 g is too little to temper"),
        (("--step", "work=5 min", "--mass", "50 kg"), "50 kg is more than a batch may be"),
        (("--step", "stir=1 min"), '"stir" is no step'),
        (("--step", "work=5 min", "--step", "work=6 min"), '"work" began more than once'),
        (("--step", "work=5 min", "--chocolate", ""), "The chocolate's name is empty"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_kept(
    call: Any, tmp_path: Path, changes: tuple[str, ...], says: str
) -> None:
    """Exit code 2, a sentence, an empty record."""
    answer = call("import", str(_log(tmp_path / "log.csv", 60)), *WHAT, *changes)
    assert (answer.code, says in answer.err) == (2, True), answer.err
    assert call("runs", "--json").value == []
