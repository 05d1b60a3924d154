"""Logs of any logger: read in every dialect, refused where they could mean two things."""

import random
from datetime import UTC, datetime, timedelta
from math import cos
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snapgloss.base.errors import InputError
from snapgloss.quality.log_file import LogColumns, read_log

BERLIN = "Europe/Berlin"


def _read(tmp_path: Path, text: str | bytes, **columns: str | None):
    path = tmp_path / "log.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_log(path, LogColumns(**columns))


@given(data=st.data())
def test_every_dialect_says_the_same(data, tmp_path_factory):
    """Separator, decimal mark, scale, words before the table, order, encoding: one log."""
    draw = data.draw
    noise = random.Random(draw(st.integers(0, 999)))
    celsius = [round(30 + noise.gauss(0, 4), 1) for _ in range(20)]
    mark = draw(st.sampled_from([",", ";", "\t"]))
    comma = draw(st.booleans())
    fahrenheit = draw(st.booleans())
    began = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
    rows = []
    for number, value in enumerate(celsius):
        shown = f"{value * 1.8 + 32:.2f}" if fahrenheit else f"{value:.1f}"
        if comma:
            shown = shown.replace(".", ",")
            shown = f'"{shown}"' if mark == "," else shown
        moment = began + timedelta(seconds=10 * number)
        rows.append([f"{moment:%Y-%m-%d %H:%M:%S}", shown, str(number)])
    order = draw(st.permutations([0, 1, 2]))
    head = ["Zeit", "Kanal 1 [°]", "Nr"]
    lines = [mark.join(row[at] for at in order) for row in [head, *rows]]
    text = "\n".join(["A logger of Quillby & Maar", ""] * draw(st.integers(0, 3)) + lines)
    data_bytes = text.encode(draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"])))
    path = tmp_path_factory.mktemp("log")
    scale = {"fahrenheit" if fahrenheit else "celsius": "kanal 1 [°]"}
    log = _read(path, data_bytes, time="Zeit", zone="UTC", **scale)
    assert log.began_utc_ms == began.timestamp() * 1000
    assert log.at_ms == [10_000 * number for number in range(20)]
    assert log.product_mc == pytest.approx([1000 * c for c in celsius], abs=6)
    assert log.cautions == []


@pytest.mark.parametrize("column", ["²", "1²", "9" * 5000, "0", "3"])
def test_a_number_that_no_column_has_is_refused(tmp_path, column):
    """Raised figures, endless ones, nought and one too many: a sentence, and no crash."""
    with pytest.raises(InputError):
        _read(tmp_path, "0;31,5\n1;31,6\n", minutes="1", celsius=column, began="2026-11-25T10:00Z")


def test_columns_by_number_without_names(tmp_path):
    """Numbers from 1; the first line with a number in that place is the first reading."""
    text = "about\n0;31,5\n0,5;31,6\n1;31,7\n"
    log = _read(tmp_path, text, minutes="1", celsius="2", began="2026-11-25T10:00+01:00")
    assert (log.at_ms, log.product_mc) == ([0, 30_000, 60_000], [31_500, 31_600, 31_700])
    assert log.began_utc_ms == datetime(2026, 11, 25, 9, tzinfo=UTC).timestamp() * 1000


def test_a_name_and_a_number(tmp_path):
    """One column by its name, the other by its place; a number that is a name is the name."""
    text = "s;a;a\n0;30;31\n10;30;31\n"
    began = {"began": "2026-11-25 10:00", "zone": "UTC"}
    assert _read(tmp_path, text, seconds="s", celsius="3", **began).product_mc == [31_000] * 2
    text = "s;3;x\n0;30;31\n10;30;31\n"
    assert _read(tmp_path, text, seconds="s", celsius="3", **began).product_mc == [30_000] * 2
    with pytest.raises(InputError, match="has no line with the columns"):
        _read(tmp_path, text, seconds="s", celsius="4", **began)


def test_gaps_and_missing_values_are_told_and_never_filled(tmp_path):
    """A gap of ten minutes, and cells that hold no number."""
    lines = [f"{s},{'' if s == 20 else 'ERR' if s == 30 else 31.5}" for s in range(0, 60, 10)]
    lines += [f"{s},31.5" for s in range(650, 700, 10)]
    log = _read(tmp_path, "s,c\n" + "\n".join(lines), seconds="s", celsius="c",
                began="2026-11-25 10:00", zone="UTC")  # fmt: skip
    assert log.product_mc[1:5] == [31_500, None, None, 31_500]
    assert log.cautions == [
        "1 gap; the longest is 10 min, 50 s after the start.",
        "2 of 11 rows have no temperature.",
    ]


def test_a_clock_that_jumped_is_refused_unless_the_logger_was_off(tmp_path):
    """Three hours on between two readings of one minute: asked for; 29 minutes are a gap, and a
    logger of one reading in 40 minutes has no jump in it."""

    def log(minutes: list[int], **more):
        rows = "\n".join(f"{m},31.5" for m in minutes)
        return _read(tmp_path, "m,c\n" + rows, minutes="m", celsius="c", zone="UTC",
                     began="2026-11-25 10:00", **more)  # fmt: skip

    jumped = [*range(50), *range(230, 260)]
    with pytest.raises(InputError, match="line 52: there is no reading for 3 h 01 min before 230"):
        log(jumped)
    assert log(jumped, gaps=True).cautions == [
        "1 gap; the longest is 3 h 01 min, 49 min after the start."
    ]
    assert len(log([*range(50), *range(78, 90)]).cautions) == 1
    assert log([0, 40, 80, 120]).cautions == []


def _sloping(minutes: list[float], c_per_min: float, tmp_path, jump_min: float = 0, **more):
    """A log that falls from 40 C; after the 30th minute its clock is `jump_min` on."""
    rows = "\n".join(f"{m + (jump_min if m > 30 else 0):.3f},{40 + c_per_min * m:.2f}"
                     for m in minutes)  # fmt: skip
    return _read(tmp_path, "m,x\n" + rows, minutes="m", celsius="x", zone="UTC",
                 began="2026-11-25 10:00", **more)  # fmt: skip


SIXTHS = [n / 6 for n in range(360)]


@pytest.mark.parametrize("jump_min", [4, 20, 29])
@pytest.mark.parametrize("c_per_min", [-0.2, 0.2])
def test_a_clock_that_jumped_a_little_is_said(tmp_path, jump_min, c_per_min):
    """The readings go on as if there were no pause: it is no pause."""
    log = _sloping(SIXTHS, c_per_min, tmp_path, jump_min)
    assert log.doubts.startswith("Its clock may have jumped 30 min after the start")
    assert log.unsure_ms == 30 * 60_000
    assert len(log.cautions) == 1


def test_a_pause_with_the_same_on_both_sides_may_be_either(tmp_path):
    """Held chocolate tells nothing, also when it waves: it is asked, unless a person knows."""

    def log(minutes, **more):
        rows = "\n".join(f"{m + (20 if m > 30 else 0):.3f},{31.5 + cos(m / 2.5) / 10:.2f}"
                         for m in minutes)  # fmt: skip
        return _read(tmp_path, "m,x\n" + rows, minutes="m", celsius="x", zone="UTC",
                     began="2026-11-25 10:00", **more)  # fmt: skip

    said = "The readings on both sides of the pause 30 min after the start are alike"
    assert log(SIXTHS).doubts.startswith(said)
    assert log(SIXTHS).unsure_ms == 30 * 60_000
    assert (log(SIXTHS, gaps=True).doubts, log(SIXTHS, gaps=True).unsure_ms) == ("", None)


def test_rows_without_a_temperature_are_no_pause(tmp_path):
    """The logger was on and its clock ran: its times are there."""
    rows = [f"{10 * n},{'ERR' if 100 < n < 140 else 31.5}" for n in range(300)]
    log = _read(tmp_path, "s,x\n" + "\n".join(rows), seconds="s", celsius="x", zone="UTC",
                began="2026-11-25 10:00")  # fmt: skip
    assert (log.doubts, log.unsure_ms) == ("", None)
    assert log.cautions == ["39 of 300 rows have no temperature."]


def test_a_log_with_each_row_twice_has_no_gaps(tmp_path):
    """Its usual distance is that of its moments; a pause is one all the same."""
    rows = [f"{10 * n},{31 + n / 100:.2f}" for n in (*range(50), *range(80, 90)) for _ in (1, 2)]
    log = _read(tmp_path, "s,x\n" + "\n".join(rows), seconds="s", celsius="x", zone="UTC",
                began="2026-11-25 10:00", gaps=True)  # fmt: skip
    assert log.cautions == ["1 gap; the longest is 5 min, 8 min after the start."]


@pytest.mark.parametrize("c_per_min", [-0.2, 0.2])
def test_a_pause_in_which_it_went_on_is_a_gap(tmp_path, c_per_min):
    """The logger was off: the chocolate moved meanwhile. And without a pause there is no doubt."""
    log = _sloping([m for m in SIXTHS if not 30 < m < 50], c_per_min, tmp_path)
    assert (log.doubts, len(log.cautions)) == ("", 1)
    assert _sloping(SIXTHS, c_per_min, tmp_path)[4:] == ([], "", None)


def test_a_pause_over_the_turn_is_no_jump(tmp_path):
    """Down before it and up after it: no jump is read out of that."""
    rows = [
        f"{m},{34 - m / 5 if m < 30 else 28 + (m - 50) / 5}" for m in (*range(30), *range(50, 70))
    ]
    log = _read(tmp_path, "m,x\n" + "\n".join(rows), minutes="m", celsius="x", zone="UTC",
                began="2026-11-25 10:00")  # fmt: skip
    assert "may have jumped" not in log.doubts


def test_several_readings_in_a_minute_are_spread_in_it(tmp_path):
    """Six a minute, begun and ended within one: 10 s apart throughout, and it is said."""
    stamps = [f"2026-11-25 10:{n // 6:02d}" for n in range(4, 33)]
    log = _read(tmp_path, _clock(stamps), time="t", celsius="c", zone="UTC")
    assert log.at_ms == [10_000 * n for n in range(29)]
    assert log.began_utc_ms == datetime(2026, 11, 25, 10, 0, 40, tzinfo=UTC).timestamp() * 1000
    assert log.cautions == [] and "spread evenly in their minute" in log.doubts


def test_one_reading_a_minute_is_left_alone(tmp_path):
    """Also with one row twice in thirty; and several in a second are no minutes."""
    stamps = [f"2026-11-25 10:{n:02d}" for n in (*range(15), *range(14, 30))]
    log = _read(tmp_path, _clock(stamps), time="t", celsius="c", zone="UTC")
    assert (log.at_ms[15] - log.at_ms[14], log.doubts) == (0, "")
    stamps = [f"2026-11-25 10:00:{n // 4:02d}" for n in range(40)]
    log = _read(tmp_path, _clock(stamps), time="t", celsius="c", zone="UTC")
    assert (log.at_ms[4], log.doubts, log.cautions) == (1000, "", [])


def _clock(times: list[str]) -> str:
    return "t,c\n" + "\n".join(f"{at},31.5" for at in times)


def test_the_hour_that_comes_twice(tmp_path):
    """Berlin put its clocks back on 25 October 2026 at 3:00 (EU directive 2000/84/EC: the last
    Sunday): 2:50, 2:10 and 3:10 are 20 and 60 minutes apart."""
    log = _read(tmp_path, _clock([f"2026-10-25 {t}" for t in ("02:50", "02:10", "03:10")]),
                time="t", celsius="c", zone=BERLIN)  # fmt: skip
    assert log.at_ms == [0, 20 * 60_000, 80 * 60_000]
    with pytest.raises(InputError, match="line 3: the time goes back from"):
        _read(tmp_path, _clock([f"2026-10-25 {t}" for t in ("02:50", "02:10", "03:10")]),
              time="t", celsius="c", zone="UTC")  # fmt: skip


def test_the_hour_that_never_was(tmp_path):
    """2:30 on 28 March 2027 in Berlin is refused; 1:50 to 3:10 are 20 minutes."""
    log = _read(tmp_path, _clock(["2027-03-28 01:50", "2027-03-28 03:10"]), time="t",
                celsius="c", zone=BERLIN)  # fmt: skip
    assert log.at_ms == [0, 20 * 60_000]
    with pytest.raises(InputError, match="line 2: 2027-03-28 02:30 never was"):
        _read(tmp_path, _clock(["2027-03-28 02:30", "2027-03-28 03:10"]), time="t", celsius="c",
              zone=BERLIN)  # fmt: skip


def test_times_of_day_go_over_midnight(tmp_path):
    """With a day given; the one after midnight is the next."""
    log = _read(tmp_path, _clock(["23:59:30", "0:00:30", "00:01:00"]), time="t", celsius="c",
                day="2026-11-25", zone=BERLIN)  # fmt: skip
    assert log.at_ms == [0, 60_000, 90_000]
    assert log.began_utc_ms == datetime(2026, 11, 25, 22, 59, 30, tzinfo=UTC).timestamp() * 1000


@pytest.mark.parametrize(
    ("first", "more"),
    [("25.11.2026 10:00:00", {}), ("2026-11-25T11:00:00+01:00", {}), ("2026-11-25 10:00:00Z", {}),
     ("25/11/26 10.00", {"time_format": "%d/%m/%y %H.%M"})],
)  # fmt: skip
def test_ways_to_write_a_moment(tmp_path, first, more):
    """Day first with dots, an offset, Z, and whatever a format says."""
    second = first.replace("00:00", "05:00", 1) if not more else "25/11/26 10.05"
    log = _read(tmp_path, _clock([first, second]), time="t", celsius="c", zone="UTC", **more)
    assert log.began_utc_ms == datetime(2026, 11, 25, 10, tzinfo=UTC).timestamp() * 1000
    assert log.at_ms == [0, 300_000]


GOOD = "t,c,s\n2026-11-25 10:00,31.5,0\n2026-11-25 10:05,31.6,300\n"


@pytest.mark.parametrize(
    ("text", "columns", "says"),
    [
        (GOOD.replace("2026-11-25 10:05", "11/25/2026 10:05"), {}, "line 3: the time reads"),
        (GOOD.replace("31.6", "88.7"), {}, "line 3: 88.7 °C is no temperature .* Fahrenheit"),
        (GOOD, {"celsius": None, "fahrenheit": "c"}, "column \"c\" of .* is not in Fahrenheit"),
        (GOOD.replace("c,s", "x,s"), {"celsius": None, "fahrenheit": "x"},
         "never is over -0.2 °C"),
        (GOOD.replace("31.6", "5").replace("c,s", "x,s"), {"celsius": None, "fahrenheit": "x"},
         "is no temp.* Celsius"),
        (GOOD.replace("31.", "61."), {}, "never is under 61.5 °C.* Is it Fahrenheit"),
        (GOOD.replace("31.5", "").replace("31.6", ""), {}, "has no temperature"),
        (GOOD.replace("31.6", "88.7 F"), {}, "line 3: .* is in the other scale"),
        (GOOD.replace("31.6", "warm"), {}, "line 3: the temperature reads"),
        (GOOD.replace("10:05", "09:55"), {}, "line 3: the time goes back"),
        (GOOD.replace("2026-11-25 10:05", "2026-11-28 10:05"), {}, "more than 48 h"),
        (GOOD.replace("10:05", "10:00"), {}, "one moment only"),
        (GOOD, {"time": "when"}, "no line with the columns"),
        (GOOD, {"time": None}, "Name one column that says when"),
        (GOOD, {"seconds": "s"}, "Name one column that says when"),
        (GOOD, {"celsius": None}, "Name one column that says how warm"),
        (GOOD, {"zone": "Europe/Atlantis"}, "is no zone"),
        (GOOD, {"time": None, "seconds": "s"}, "Nobody said when the log began"),
        (GOOD, {"time": None, "seconds": "s", "began": "noon"}, "is no moment"),
        (GOOD.replace(",300", ',"1,500"'),
         {"time": None, "seconds": "s", "began": "2026-11-25 10:00"}, "read in two ways"),
        (GOOD.replace("2026-11-25 ", ""), {}, "has no day"),
        (GOOD, {"time_format": "%H"}, "is not as --time-format says"),
        ("t,c\n2026-11-25 10:00,31.5\n", {}, "fewer than two readings"),
        (b"\x00\x01\x02", {}, "is no text"),
        ("", {}, "no line with the columns"),
    ],
)  # fmt: skip
def test_what_is_not_clear_is_refused(tmp_path, text, columns, says):
    """One sentence that names the line, where there is one."""
    chosen = {"time": "t", "celsius": "c", "zone": "UTC", **columns}
    with pytest.raises(InputError, match=says):
        _read(tmp_path, text, **chosen)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("s,x\n0,32,8\n10,32,7\n", "line 2: it has 3 cells under 2 names"),
        ("s,x,\n0,32,8\n10,32,7\n", "line 2: it has 3 cells under 2 names"),
        ("s,x\n0,33\n10,32,7\n", "line 3: .* decimal commas, columns need another separator"),
        ("s,x,room\n0,32,8,21\n10,32,7,21\n", "line 2: it has 4 cells under 3 names"),
        ("0,32,8\n10,,\n20,32,7\n", "line 1: .* decimal commas cannot be told"),
        ("s,x,note\n0,32,8\n10,,\n20,32,7\n", "line 2: .* take the column after them out"),
        ("s,x,note\n0,32,8\n10,32,75\n20,32\n", "line 2: .* decimal commas cannot be told"),
        ("s,x,note,flag\n0,32,125\n10,32,375\n", "line 2: .* decimal commas cannot be told"),
    ],
)
def test_a_decimal_comma_is_never_cut_off(tmp_path, text, says):
    """32,8 between commas is 32.8, or 32 and 8: refused, by name and by number."""
    ways = [{"seconds": "1", "celsius": "2"}]
    if text.startswith("s"):
        ways.append({"seconds": "s", "celsius": "x"})
    for way in ways:
        with pytest.raises(InputError, match=says):
            _read(tmp_path, text, began="2026-11-25", zone="UTC", **way)


def test_empty_cells_beyond_the_names_are_no_cells(tmp_path):
    """A comma at the end of a row, and whole numbers under names of their own."""
    way = {"seconds": "1", "celsius": "2", "began": "2026-11-25", "zone": "UTC"}
    assert _read(tmp_path, "s,x\n0,32,\n10,31, \n", **way).product_mc == [32_000, 31_000]
    for number in ("9", "0"):  # a count, and noughts, which are the same in both ways
        text = f"s,x,y\n0,32,{number}\n10,31,{number.replace('9', '100')}\n"
        assert _read(tmp_path, text, **way).product_mc == [32_000, 31_000]
    assert _read(tmp_path, "s,x,y\n0,32,5\n10,31.5,5\n", **way).product_mc == [32_000, 31_500]
    assert _read(tmp_path, "0,32,5\n10,31.5,5\n", **way).product_mc == [32_000, 31_500]


def test_a_name_that_stands_twice_is_said(tmp_path):
    """It is not missing: a number tells which of the two is meant."""
    with pytest.raises(InputError, match=r'has the column "T" 2 times. Give .* 2 or 3'):
        _read(tmp_path, "s,T,T\n0,31.5,9\n10,31.5,9\n", seconds="s", celsius="T", began="x")


@pytest.mark.parametrize("form", ["{}", "Temp ({})", "Temp [°{}]", "°{}", "Temp {}", "temp_{}",
                                  "T deg{}", "Bowl, {}", "Temp °{} 1"])  # fmt: skip
def test_the_unit_in_a_name_is_heeded(tmp_path, form):
    """A column that names one scale is not read in the other."""
    began = {"seconds": "1", "began": "2026-11-25", "zone": "UTC"}
    for unit, right, wrong, value in (("C", "celsius", "fahrenheit", 70),
                                      ("F", "fahrenheit", "celsius", 70)):  # fmt: skip
        column = form.format(unit)
        text = f's;"{column}"\n0;{value}\n10;{value}\n20;45\n'
        with pytest.raises(InputError, match=f"is not in {wrong.title()}, by its name"):
            _read(tmp_path, text, **{wrong: "2"}, **began)
        assert _read(tmp_path, text, **{right: column}, **began).product_mc


@pytest.mark.parametrize("column", ["Channel C", "Chocolate", "Probe F", "°C/°F", "Fat", "Care"])
def test_a_letter_that_is_no_unit(tmp_path, column):
    """The third channel of a logger is not in Celsius for that."""
    text = f"s;{column}\n0;70\n10;70\n"
    for scale in ("celsius", "fahrenheit"):
        assert _read(tmp_path, text + "20;45\n", seconds="s", began="2026-11-25", zone="UTC",
                     **{scale: column}).product_mc  # fmt: skip


@pytest.mark.parametrize(
    ("odd", "says"),
    [([85.0], "line 42: 85 °C is no temperature of chocolate; was the probe out"),
     ([88.7] * 60, "88.7 °C is no temperature of chocolate; perhaps it is in Fahrenheit"),
     ([304.65] * 60, "304.65 °C is no temperature of chocolate; perhaps it is in kelvin"),
     ([900.0] * 60, r"900 °C is no temperature of chocolate\.")],
)  # fmt: skip
def test_what_an_impossible_reading_may_be(tmp_path, odd, says):
    """One of 85 °C is a probe's first word, not Fahrenheit; most of 305 are kelvin."""
    values = [31.5] * 40 + odd
    text = "s,x\n" + "\n".join(f"{10 * n},{c}" for n, c in enumerate(values))
    with pytest.raises(InputError, match=says):
        _read(tmp_path, text, seconds="s", celsius="x", began="2026-11-25", zone="UTC")


@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused(tmp_path_factory, content):
    """Nothing but a log or an InputError comes of any file."""
    path = tmp_path_factory.mktemp("any")
    for columns in ({"time": "t", "celsius": "c"}, {"seconds": "1", "fahrenheit": "2",
                                                    "began": "2026-01-01"}):  # fmt: skip
        try:
            _read(path, content, **columns)
        except InputError as refused:
            assert str(refused)
