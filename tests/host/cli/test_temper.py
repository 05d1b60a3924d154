"""The command of the temper check: the knife, a curve, both, and what cannot be used."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from snapgloss.cli import temper as command

Write = Callable[..., str]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Write a curve: seconds and °C by columns; returns its path."""

    def write(seconds: Any, celsius: Any, name: str = "curve.csv") -> str:
        path = tmp_path / name
        rows = "".join(f"{s},{c}\n" for s, c in zip(seconds, celsius, strict=True))
        path.write_text("seconds,celsius\n" + rows)
        return str(path)

    return write


def sample(heat_k: float = 20.0, at_s: float = 420.0) -> tuple[Any, Any]:
    """A sample at 12 °C that gives off its heat in a Gaussian of 200 s; Euler, one second."""
    seconds = np.arange(2600)
    heat = heat_k / (200 * np.sqrt(2 * np.pi)) * np.exp(-(((seconds - at_s) / 200) ** 2) / 2)
    celsius = np.empty(len(seconds))
    at_c = 31.0
    for second in seconds:
        celsius[second] = at_c
        at_c += -(at_c - 12.0) / 240 + heat[second]
    return seconds, celsius.round(3)


def test_a_curve_gives_a_sentence_and_a_strip(call: Any, write: Write) -> None:
    """Two lines; the figures only when they are asked for."""
    answer = call("temper", write(*sample()), "--cold", "12 C")
    assert (answer.code, answer.err) == (0, "")
    first, strip = answer.out.splitlines()
    assert first == "The curve looks in temper: set as it should; not calibrated yet."
    assert strip.startswith("under ")
    assert strip.endswith(" over")
    assert "●" in strip
    details = call("temper", write(*sample()), "--cold", "12 C", "--details").out
    assert "Set ratio             1.07" in details
    assert "°C a minute" in details


def test_fahrenheit_on_request(call: Any, write: Write) -> None:
    """Cold typed and figures shown in °F; no °C left."""
    told = call(
        "temper", write(*sample()), "--cold", "53.6 F", "--details", "--fahrenheit", "--set-in",
        "4 min",
    ).out  # fmt: skip
    assert "69.8 °F" in told
    assert "°C" not in told


def test_a_curve_of_fahrenheit_is_quoted_as_it_stands(call: Any, write: Write) -> None:
    """The file's bare number, with and without --fahrenheit, and that its column can say so."""
    seconds, celsius = sample()
    path = write(seconds, celsius * 1.8 + 32)
    middle_f = float(np.median(celsius)) * 1.8 + 32
    for more in ([], ["--fahrenheit"]):
        answer = call("temper", path, *more)
        assert answer.code == 2
        first, second = answer.err.splitlines()
        assert first.startswith(f"Not a usable curve: it runs at {middle_f:.0f}; is that Fahr")
        assert second == "Give degrees Celsius, or name the column fahrenheit."
        assert max(len(first), len(second)) <= 80
    named = Path(path)
    named.write_text(named.read_text().replace("seconds,celsius", "seconds,fahrenheit"))
    assert call("temper", path, "--fahrenheit").code == 0
    wrong = call("temper", write(seconds, celsius + 200))
    assert "where no sample of chocolate is" in wrong.err


def test_as_json(call: Any, write: Write) -> None:
    """One value with knife and curve, raw figures in °C."""
    value = call("temper", write(*sample()), "--set-in", "4 min", "--json").value
    assert list(value) == ["knife", "curve"]
    assert (value["knife"]["result"], value["knife"]["set_s"]) == ("good", 240)
    curve = value["curve"]
    assert (curve["usable"], curve["place"], curve["calibrated"]) == (True, "in", False)
    assert curve["figures"]["set_ratio"] == pytest.approx(1.07, abs=0.03)
    assert curve["figures"]["bath_c"] == pytest.approx(12.0, abs=0.5)
    assert curve["caution"].startswith("The cold was not measured")
    assert curve["differ"] is None


def bad_curves() -> dict[str, tuple[Any, Any]]:
    """Curves of no use by name."""
    seconds, celsius = sample()
    return {
        "two points": ([0, 1], [31, 30]),
        "constant": (seconds, np.full(len(seconds), 20.0)),
        "Fahrenheit": (seconds, celsius * 1.8 + 32),
        "not a number": (seconds, ["nan"] * len(seconds)),
        "infinite": (seconds, ["inf"] * len(seconds)),
        "a time that is none": (["inf", *seconds[1:]], celsius),
        "times not rising": (seconds[::-1], celsius),
        "empty": ([], []),
        "large": (range(700_000), [20.0] * 700_000),
        "cut off": (seconds[:200], celsius[:200]),
    }


@pytest.mark.parametrize("kind", bad_curves())
def test_a_bad_curve_is_one_sentence_and_no_number(kind: str, call: Any, write: Write) -> None:
    """Exit code 2, nothing on stdout, at most two lines on stderr, no traceback; JSON likewise."""
    path = write(*bad_curves()[kind])
    answer = call("temper", path)
    assert (answer.code, answer.out) == (2, "")
    assert 1 <= len(answer.err.splitlines()) <= 2
    assert "Traceback" not in answer.err
    shown = call("temper", path, "--json")
    assert (shown.code, shown.err) == (2, "")
    assert shown.value["curve"].keys() == {"usable", "sentence"}
    assert shown.value["curve"]["usable"] is False


def test_the_knife_is_told_even_when_the_curve_is_of_no_use(call: Any, write: Write) -> None:
    """Its sentence on stdout, the refusal on stderr."""
    answer = call("temper", write([0, 1], [31, 30]), "--set-in", "never")
    assert answer.code == 2
    assert answer.out.startswith("Not set in 10 min at 21.0 °C")
    assert answer.err.startswith("Not a usable curve: it has 2 readings.")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--json",), "With --json nobody is asked."),
        (("--picture", "x.png"), "There is no curve to draw."),
        (("--set-in", "20 min"), "cannot have set in 20 min"),
        (("--set-in", "0 s"), "cannot have set in 0 s"),
        (("--set-in", "4"), "has no unit"),
        (("--set-in", "4 min", "--room", "50 C"), "is not one to judge a knife in"),
        (("none.csv",), "There is no file none.csv."),
        (("none.csv", "--cold", "12"), "has no unit"),
    ],
)
def test_what_is_typed_wrongly(arguments: tuple[str, ...], words: str, call: Any) -> None:
    """A sentence and exit code 2."""
    answer = call("temper", *arguments)
    assert (answer.code, answer.out) == (2, "")
    assert words in answer.err


def test_own_bars_calibrate(call: Any, write: Write, tmp_path: Path) -> None:
    """Five sold and three not beyond each edge: the verdict is one."""
    bars = tmp_path / "bars.csv"
    bars.write_text(
        "1.02,sell\n" * 3 + "1.1,sell\n" * 3 + "1.2,remelt\n" * 3 + "0.9,seconds\n" * 3
    )
    told = call("temper", write(*sample()), "--cold", "12 C", "--bars", str(bars)).out
    assert told.startswith("In temper, by 6 of your own bars that sold")
    other = call(
        "temper", write(*sample()), "--cold", "12 C", "--bars", str(bars), "--method", "cooled"
    ).out
    assert "not calibrated yet" in other


def test_a_picture_is_drawn(call: Any, write: Write, tmp_path: Path) -> None:
    """A PNG of the size stated; a folder that is not there is said in a sentence."""
    from matplotlib.image import imread

    from snapgloss.report.planned import PNG_DPI
    from snapgloss.report.temper import SIZE_INCH

    path = tmp_path / "curve.png"
    assert call("temper", write(*sample()), "--picture", str(path)).code == 0
    pixels = imread(path)
    assert pixels.shape[:2] == (round(SIZE_INCH[1] * PNG_DPI), round(SIZE_INCH[0] * PNG_DPI))
    assert float(np.std(pixels[..., :3])) > 0.05
    gone = call("temper", write(*sample()), "--picture", str(tmp_path / "no" / "curve.png"))
    assert (gone.code, gone.out) == (2, "")
    assert "cannot be written" in gone.err


@pytest.mark.parametrize("name", ["graded.png", "curve.csv"])
def test_a_picture_takes_no_place_of_a_file(
    name: str, call: Any, write: Write, tmp_path: Path
) -> None:
    """The readings, or what else is there, stay as they were; a sentence and exit code 2."""
    curve = write(*sample())
    there = curve if name.endswith(".csv") else str(tmp_path / name)
    Path(there).touch()
    before = Path(there).read_bytes()
    answer = call("temper", curve, "--picture", there)
    assert (answer.code, answer.out) == (2, "")
    assert ("is no PNG" if name.endswith(".csv") else "is there already") in answer.err
    assert Path(there).read_bytes() == before


class Clock:
    """Moves only when a person is waited for."""

    def __init__(self) -> None:
        self.at_s = 1000.0

    def now_s(self) -> float:
        """The present second."""
        return self.at_s


@pytest.mark.parametrize(("took_s", "result"), [(240, "good"), (130, "early"), (601, "not set")])
def test_a_person_is_led_through_the_smear_test(
    took_s: int, result: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Timed from the dip to the set, not from the start; beyond 10 min nobody asks for streaks."""
    clock, said, asked = Clock(), [], []

    def wait(words: str) -> None:
        clock.at_s += 55 if not said else took_s
        said.append(words)

    def ask(words: str) -> bool:
        asked.append(words)
        return False

    test = command.guided(21_000, clock, wait, ask)
    assert test.result == result
    assert test.set_s == (None if result == "not set" else took_s)
    assert said == [command.DIPPED, command.SET]
    assert len(asked) == (0 if result == "not set" else 1)
    assert "Dip a knife" in capsys.readouterr().err


def test_the_rigs_own_probe(
    call: Any, write: Write, data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The curve read live is judged, and kept as a file; a file beside it is one too many."""
    from snapgloss.quality.temper_live import LiveCurve
    from snapgloss.runs import connect, sampling

    def read_live(_link: Any, cold_c: float | None, say: Any, _fahrenheit: bool) -> LiveCurve:
        say("The sample went into the cold.")
        curve = LiveCurve(cold_c)
        for at_s, at_c in zip(*sample(), strict=True):
            curve.take(float(at_s), float(at_c))
        return curve

    class Link:
        identity = None

        def close(self) -> None:
            """Nothing to close."""

    monkeypatch.setattr(connect, "connect", lambda _port: Link())
    monkeypatch.setattr(sampling, "read_live", read_live)
    answer = call("temper", "--port", "here", "--cold", "12 C", "--json")
    assert (answer.code, answer.value["curve"]["place"]) == (0, "in")
    kept = list((data / "curves").glob("*.csv"))
    assert len(kept) == 1 and f"Curve: {kept[0]}" in answer.err
    assert call("temper", write(*sample()), "--port", "here").code == 2
    monkeypatch.setattr(sampling, "read_live", lambda *_: LiveCurve())
    refused = call("temper", "--port", "here")
    assert refused.code == 2 and "No sample went into the cold." in refused.err


def test_bars_of_the_data_folder_count_by_themselves(call: Any, write: Write, data: Path) -> None:
    """bars.csv beside the record: the verdict is calibrated without --bars."""
    data.mkdir()
    (data / "bars.csv").write_text("1.02,sell\n" * 6 + "1.2,remelt\n" * 4 + "0.9,remelt\n" * 4)
    found = call("temper", write(*sample()), "--cold", "12 C", "--json").value["curve"]
    assert found["calibrated"] is True
    assert found["bands"]["sold"] == 6
