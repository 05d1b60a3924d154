"""The commands about chocolate, moulds, pouring, setting, damp, storage, mixing, re-melting."""

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from snapgloss.schedules import files

LANTERN = """format = 1
name = "Lantern 72"
type = "dark"
cocoa = "72 %"
cocoa_butter = "6 %"
sugar = "27.5 %"
lecithin = "0.5 %"
allergens = ["soya"]
may_contain = ["hazelnut"]
"""
EVERY = {
    "chocolate": [],
    "moulds": ["--bars", "48"],
    "pour": ["--bars", "48", "--at", "10:00"],
    "setting": [],
    "turnout": ["--bar", "12 C", "--room", "22 C", "--humidity", "60 %"],
    "storage": ["--at", "20 C"],
    "mix": ["--bowl", "1 kg", "--bowl-at", "45 C", "--add", "200 g", "--add-at", "20 C", "--set"],
    "remelt": ["--old", "500 g", "--new", "1500 g"],
    "schedule": [],
}


@pytest.fixture
def lantern(tmp_path: Path) -> str:
    """A described chocolate."""
    path = tmp_path / "lantern.toml"
    path.write_text(LANTERN)
    return str(path)


def arguments(command: str, lantern: str) -> list[str]:
    """A call that works."""
    return [command, *([lantern] if command == "chocolate" else EVERY[command])]


@pytest.mark.parametrize("command", EVERY)
def test_each_prints_sentences_or_one_json_value(call: Any, lantern: str, command: str) -> None:
    """stdout is text for a person; with --json one value and nothing else."""
    words = call(*arguments(command, lantern))
    assert (words.code, words.out.endswith("\n")) == (0, True)
    assert call(*arguments(command, lantern), "--json").value
    assert call(*arguments(command, lantern), "--fahrenheit").code == 0


def test_a_chocolates_figures_with_their_sources(call: Any, lantern: str) -> None:
    """Fat by hand 42.1 %; what the recipe may be sold as; allergens."""
    answer = call("chocolate", lantern)
    assert "fat              42.1 ± 3.3 %" in answer.out
    assert "Choi & Okos 1986" in answer.out
    assert "May be sold in the EU as chocolate (2000/36/EC)." in answer.out
    assert "May contain hazelnut." in answer.out
    value = call("chocolate", lantern, "--json").value
    assert value["figures"]["work_cap"]["value"] == 32.5
    assert value["names_in_the_eu"] == ["chocolate"]
    assert "90.5 °F" in call("chocolate", lantern, "--fahrenheit").out


def test_moulds_for_48_bars(call: Any) -> None:
    """By hand: 51 poured in 7 moulds of 8, 3.16 kg."""
    answer = call("moulds", "--bars", "48", "--mould-at", "66 F")
    assert "pour 51, in 7 moulds of 8; 5 cavities stay empty." in answer.out
    assert "Temper 3.16 kg" in answer.out
    assert "A mould of 18.9 °C is too cold" in answer.out
    assert call("moulds", "--bars", "48", "--json").value["batch_g"] == 3160


def test_the_pour_clock_counts_back(call: Any) -> None:
    """It pours at ten; everything before is before, in order."""
    value = call("pour", "--bars", "48", "--at", "10:00", "--json").value
    at = {moment["key"]: moment["at_min"] for moment in value["moments"]}
    assert at["pour"] == 600
    assert at["plug in"] < at["moulds out"] == 540 < at["seed"] < 600 < at["last out"]
    assert value["batch_g"] == 3160
    assert call("pour", "--bars", "48", "--at", "10:00").out.splitlines()[0].startswith("08:")


def test_while_pouring(call: Any) -> None:
    """3 of 7 moulds in 6 min: 4 left, 8 min."""
    answer = call("pour", "--bars", "48", "--at", "10:00", "--done", "3", "--for", "6 min")
    assert answer.out.startswith("4 moulds left, 8 min at this pace; good for about 41 min.")
    late = call("pour", "--bars", "48", "--at", "10:00", "--done", "1", "--for", "30 min")
    assert "The last 6 will be thick" in " ".join(late.out.split())
    last = call("pour", "--bars", "48", "--at", "10:00", "--done", "6", "--for", "8 min")
    assert last.out.startswith("1 mould left, 1 min")


def test_the_clock_has_the_air_that_was_asked_for(call: Any) -> None:
    """12 °C by itself, 15 when told, in °F on request."""
    asked = ["pour", "--bars", "48", "--at", "10:00"]
    assert "Refrigerator to 12.0 °C." in call(*asked).out
    assert "Refrigerator to 15.0 °C." in call(*asked, "--air", "15 C").out
    assert "Refrigerator to 59.0 °F." in call(*asked, "--air", "15 C", "--fahrenheit").out


def test_one_is_not_many(call: Any) -> None:
    """8 bars poured fill 1 mould of 8, 7 of 8 leave 1 cavity."""
    one = call("moulds", "--bars", "8", "--seconds", "0 %").out
    assert "in 1 mould of 8; 0 cavities stay empty" in one
    assert "1 cavity stays empty" in call("moulds", "--bars", "7", "--seconds", "0 %").out
    assert call("moulds", "--bars", "1").out.startswith("1 bar of 60 g")


WIDE = [
    ["turnout", "--bar", "12 C", "--room", "22 C", "--humidity", "60 %"],
    ["turnout", "--bar", "12 C", "--room", "30 C", "--humidity", "85 %"],
    ["turnout", "--bar", "30 C", "--room", "30 C", "--humidity", "85 %"],
    ["storage", "--coolest=-18 C", "--warmest", "25 C", "--humidity", "80 %", "--odours"],
    ["mix", "--bowl", "2 kg", "--bowl-at", "31.5 C", "--add", "1 kg", "--add-at", "45 C"],
    ["remelt", "--new", "1 kg", "--old", "2 kg", "--old-type", "milk", "--times", "4", "--bloomed",
     "--may-contain", "hazelnut", "--may-contain", "pistachio", "--may-contain", "sesame"],
    ["setting", "--cooling", "200 W"],
    ["setting", "--air", "23 C"],
    ["pour", "--bars", "48", "--at", "10:00", "--done", "1", "--for", "30 min"],
    ["pour", "--bars", "480", "--at", "10:00", "--cavities", "60", "--pace", "10 min", "--air",
     "25 C", "--each", "5 g"],
]  # fmt: skip


@pytest.mark.parametrize("asked", WIDE, ids=" ".join)
@pytest.mark.parametrize("more", [[], ["--fahrenheit"]], ids=["C", "F"])
def test_an_answer_fits_80_columns(call: Any, asked: list[str], more: list[str]) -> None:
    """No line is longer; what is short stays one line."""
    answer = call(*asked, *more)
    assert answer.code == 0
    assert max(map(len, (answer.out + answer.err).splitlines())) <= 80


def test_a_refusal_fits_80_columns_on_a_screen(
    call: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Any
) -> None:
    """A file's schedule in a room too warm for it; to a program it stays a line a sentence."""
    file = tmp_path / "cooled.toml"
    assert call("schedule", "--method", "cooled", "--out", str(file)).code == 0
    refused = call("schedule", str(file), "--room", "33 C")
    assert refused.code == 2
    assert len(refused.err.splitlines()) == 2
    assert max(map(len, refused.err.splitlines())) <= 80
    long = ["schedule", "--method", "cooled", "--room", "29 C"]
    plain = call(*long).err
    assert max(map(len, plain.splitlines())) > 80
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    shown = call(*long).err
    assert max(map(len, shown.splitlines())) <= 80
    assert shown.split() == plain.split()
    usage = call("grade", "3", "fine").err
    assert max(map(len, usage.splitlines())) <= 80
    assert "is not one of" in usage and "Try 'snapgloss grade --help' for help." in usage


def test_fahrenheit_is_shown_and_read(call: Any) -> None:
    """53.6 °F is 12 °C: the same answer; and no °C is left in the sentences."""
    celsius = call("setting", "--air", "12 C", "--json").value
    assert call("setting", "--air", "53.6 F", "--json").value == celsius
    shown = [
        call("setting", "--fahrenheit"),
        call("pour", "--bars", "48", "--at", "9:30 am", "--fahrenheit"),
        call("storage", "--at", "75 F", "--fahrenheit"),
        call("turnout", "--bar", "54 F", "--room", "72 F", "--humidity", "60 %", "--fahrenheit"),
        call("schedule", "--why", "--fahrenheit"),
    ]
    for answer in shown:
        words = answer.err if "format = 1" in answer.out else answer.out
        assert "°F" in words
        assert "°C" not in words


def test_setting_and_trays(call: Any) -> None:
    """Released before set; the trays only when the cooling power is known."""
    value = call("setting", "--cooling", "200 W", "--json").value
    assert 15 <= value["released_min"] <= 25 < value["set_min"]
    assert value["trays"]["at_once"] >= 1
    assert call("setting", "--json").value["trays"] is None
    assert "trays" in call("setting", "--cooling", "500 W").out
    assert "Not even one tray" in call("setting", "--cooling", "10 W").out


@pytest.mark.parametrize(
    ("bar", "percent", "words"),
    [("12 C", "60 %", "Wait about"), ("12 C", "40 %", "Turn out now"),
     ("12 C", "95 %", "Dry or cool the room"), ("60 C", "50 %", "Not set: back into the cold"),
     ("26 C", "50 %", "Not set")],
)  # fmt: skip
def test_the_answer_for_cold_bars(call: Any, bar: str, percent: str, words: str) -> None:
    """22 degC: dew point 13.9 at 60 %, 7.8 at 40, 21.2 at 95."""
    assert words in call("turnout", "--bar", bar, "--room", "22 C", "--humidity", percent).out


def test_storage(call: Any) -> None:
    """Warn at 22, alarm at 24; two temperatures are a swing."""
    assert "keeps well" in call("storage", "--at", "18 C").out
    assert call("storage", "--at", "23 C", "--json").value["level"] == "warn"
    swing = call("storage", "--coolest", "15 C", "--warmest", "25 C", "--json").value
    assert [f["level"] for f in swing["findings"]] == ["alarm", "alarm"]


@pytest.mark.parametrize(
    ("air", "kind", "released"),
    [("24 C", "dark", True), ("25 C", "dark", False), ("28 C", "dark", False),
     ("22 C", "milk", True), ("23.5 C", "milk", False)],
)  # fmt: skip
def test_no_bar_is_released_in_warm_air(call: Any, air: str, kind: str, released: bool) -> None:
    """Above 24 degC, less what milk fat lowers, no minutes are pretended."""
    said = call("setting", "--air", air, "--type", kind)
    assert said.code == 0
    assert said.out.startswith("Released after" if released else "It does not release")
    found = call("setting", "--air", air, "--type", kind, "--json").value
    assert (found["released_min"] is not None) == released


@pytest.mark.parametrize(
    ("line", "slower"),
    [('latent_heat = "60 kJ/kg"', True), ('latent_heat = "40 kJ/kg"', False),
     ('specific_heat = "2000 J/kg K"', True), ('specific_heat = "1300 J/kg K"', False)],
)  # fmt: skip
def test_own_heats_reach_the_mould(call: Any, tmp_path: Path, line: str, slower: bool) -> None:
    """A bar with more heat to give off sets later and gives off more; with less, sooner."""
    plain, own = tmp_path / "plain.toml", tmp_path / "own.toml"
    plain.write_text('format = 1\nname = "x"\ntype = "dark"\n')
    own.write_text(plain.read_text() + line + "\n")
    usual, found = (call("setting", "--from", str(f), "--json").value for f in (plain, own))
    assert (found["set_min"] > usual["set_min"]) == slower
    assert (found["heat_j"] > usual["heat_j"]) == slower


def test_an_own_density_reaches_the_mould(call: Any, tmp_path: Path) -> None:
    """The same bar as thick of lighter chocolate has more face to lose its heat by."""
    minutes = []
    for kg_per_m3 in (1100, 1400):
        file = tmp_path / f"{kg_per_m3}.toml"
        file.write_text(f'format = 1\nname = "x"\ntype = "dark"\ndensity = "{kg_per_m3} kg/m3"\n')
        minutes.append(call("setting", "--from", str(file), "--json").value["set_min"])
    assert minutes[0] < minutes[1]


def test_a_freezer_is_not_called_cool_enough(call: Any) -> None:
    """At -18 °C the word is wrap and thaw, not warmth; with a warm hour both are judged."""
    said = call("storage", "--at=-18 C").out
    assert "Cool enough" not in said
    assert "Wrap it airtight first; thaw it sealed." in " ".join(said.split())
    wrapped = call("storage", "--at=-18 C", "--wrapped").out
    assert "Cool enough" not in wrapped and "Thaw it sealed" in wrapped
    both = call("storage", "--coolest=-2 C", "--warmest", "25 C").out
    assert "Wrap it airtight" in both and "Too warm" in both


def test_a_room_at_the_edge_is_warned_of(call: Any) -> None:
    """Cooling alone in 26.5 °C, where 27.0 is the warmest: a warning that names seeded; in 25 °C
    and seeded in 26.5 none."""
    near = call("schedule", "--method", "cooled", "--room", "26.5 C")
    assert near.code == 0
    assert "close to the warmest that works, 27.0 °C" in near.err
    assert "Seeded has no low point." in near.err
    assert (
        "80.6 °F" in call("schedule", "--method", "cooled", "--room", "80 F", "--fahrenheit").err
    )
    assert "Not sure" not in call("schedule", "--method", "cooled", "--room", "25 C").err
    assert "Not sure" not in call("schedule", "--room", "26.5 C").err
    told = call("schedule", "--method", "cooled", "--room", "26.5 C", "--json").value["warnings"]
    assert any("27.0 °C" in words for words in told)


@pytest.mark.parametrize("command", ["chocolate", "pour", "schedule --why"])
def test_long_words_stay_within_80_columns(call: Any, lantern: str, command: str) -> None:
    """Sentences go on under their own beginning."""
    name, *more = command.split()
    answer = call(*arguments(name, lantern), *more)
    lines = (answer.err if more else answer.out).splitlines()
    assert max(map(len, lines)) <= 80
    assert any(line.startswith("     ") for line in lines)


def test_mixing(call: Any) -> None:
    """By hand: 1 kg at 31.5 and 200 g at 45 are 33.75; and how much brings 45 to 36."""
    melted = ["mix", "--bowl", "1 kg", "--bowl-at", "31.5 C", "--add-at", "45 C"]
    at_c = call(*melted, "--add", "200 g", "--json").value["at_c"]
    assert at_c == pytest.approx(33.75, abs=0.01)
    assert "this is too much" in call(*melted, "--add", "200 g").out
    wanted = call("mix", "--bowl", "1 kg", "--bowl-at", "45 C", "--add-at", "20 C", "--set",
                  "--to", "36 C", "--json").value  # fmt: skip
    specific, latent = 2090 * 0.36 + 1400 * 0.64, 137e3 * 0.36
    by_hand_g = 1000 * specific * 9 / (specific * 16 + latent)
    assert wanted["add_g"] == pytest.approx(by_hand_g, abs=0.1)


def test_remelting_keeps_allergens(call: Any, lantern: str) -> None:
    """Milk into dark warns; what may be in it stays on the label."""
    answer = call("remelt", "--old", "500 g", "--new", "1500 g", "--from", lantern,
                  "--old-type", "milk", "--bloomed")  # fmt: skip
    assert "Contains milk, soya." in answer.out
    assert "Milk goes into dark" in answer.out
    assert "may contain hazelnut" in answer.out
    assert "rest 20 min" in answer.out


def test_a_schedule_of_a_described_chocolate(call: Any, lantern: str) -> None:
    """Its name and type; reasons on stderr; own heats in the forecast."""
    answer = call("schedule", "--from", lantern, "--why")
    made = files.from_text(answer.out)
    assert (made.chocolate, made.type, made.method, made.seed_g) == (
        "Lantern 72", "dark", "seeded", 120,
    )  # fmt: skip
    assert "Seeded: seed brings the stable crystals" in answer.err
    assert "Wall and plate at most at 34.0 °C" in answer.err
    plain = call("schedule", "--json").value["forecast"][0]["reach_min"]
    rich = call("schedule", "--from", lantern, "--json").value["forecast"][0]["reach_min"]
    assert rich > plain  # 42 % fat takes more heat than the usual 36


def test_old_blocks_and_crystals(call: Any) -> None:
    """20 min of rest, 1 % of stable crystals."""
    made = files.from_text(call("schedule", "--old", "--seed-kind", "crystals").out)
    assert (made.steps[1].hold_s, made.seed_g) == (1200, 20)


@pytest.mark.parametrize(
    ("command", "more"), [("schedule", []), ("pour", []), ("setting", []),
                          ("schedule", ["--fahrenheit"]), ("schedule", ["--method", "cooled"])]
)  # fmt: skip
def test_pictures(call: Any, lantern: str, tmp_path: Path, command: str, more: list[str]) -> None:
    """A PNG of a sensible size with something on it; a second time it is refused."""
    path = tmp_path / "plan.png"
    answer = call(*arguments(command, lantern), *more, "--picture", str(path))
    assert answer.code == 0
    with Image.open(path) as image:
        assert image.format == "PNG"
        assert image.width > 1000 < image.width
        assert len(image.convert("RGB").getcolors(10**7)) > 20
    again = call(*arguments(command, lantern), "--picture", str(path))
    assert (again.code, "is there already" in again.err) == (2, True)


@pytest.mark.parametrize(
    "wrong",
    [
        ["moulds", "--bars", "0"],
        ["moulds", "--bars", "-5"],
        ["moulds", "--bars", "48", "--each", "0 g"],
        ["moulds", "--bars", "48", "--seconds", "120 %"],
        ["pour", "--bars", "48", "--at", "25:00"],
        ["pour", "--bars", "48", "--at", "10:00", "--room", "40 C"],
        ["pour", "--bars", "480", "--at", "10:00"],
        ["pour", "--bars", "48", "--at", "10:00", "--done", "3"],
        ["pour", "--bars", "48", "--at", "10:00", "--done", "30", "--for", "5 min"],
        ["setting", "--each", "0 g"],
        ["setting", "--air", "35 C"],
        ["setting", "--thickness", "7"],
        ["setting", "--mould-at", "40 C"],
        ["setting", "--cooling", "0 W"],
        ["setting", "--picture", "x.gif"],
        ["turnout", "--bar", "12 C", "--room", "22 C", "--humidity", "0 %"],
        ["turnout", "--bar", "12 C", "--room", "22 C", "--humidity", "101 %"],
        ["turnout", "--bar", "12 C", "--room", "90 C", "--humidity", "50 %"],
        ["storage"],
        ["storage", "--coolest", "20 C", "--warmest", "18 C"],
        ["storage", "--at", "20 C", "--humidity", "0 %"],
        ["mix", "--bowl", "0 g", "--bowl-at", "45 C", "--add", "1 g", "--add-at", "20 C"],
        ["mix", "--bowl", "1 kg", "--bowl-at", "40 C", "--add", "0 g", "--add-at", "20 C"],
        ["mix", "--bowl", "1 kg", "--bowl-at", "45 C", "--add-at", "20 C"],
        ["mix", "--bowl", "1 kg", "--bowl-at", "45 C", "--add-at", "20 C", "--to", "50 C"],
        ["mix", "--bowl", "1 kg", "--bowl-at", "45 C", "--add", "1 g", "--add-at", "40 C",
         "--set"],
        ["remelt", "--old", "0 g"],
        ["remelt", "--old", "1 kg", "--inclusions"],
        ["schedule", "--seed-at", "40 C"],
        ["schedule", "--mass", "0 g"],
        ["schedule", "--room", "33 C"],
        ["schedule", "--method", "cooled", "--room", "29 C"],
        ["chocolate", "nowhere.toml"],
    ],
    ids=" ".join,
)  # fmt: skip
def test_what_cannot_be_ends_in_sentences(call: Any, wrong: list[str]) -> None:
    """A sentence on stderr, a code that is not 0, nothing on stdout, no traceback."""
    for more in ([], ["--json"]):
        answer = call(*wrong, *more)
        assert answer.code == 2
        assert answer.out == ""
        assert answer.err.strip()
        assert "Traceback" not in answer.err
        assert "fault of its own" not in answer.err


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (["mix", "--bowl", "1 kg", "--bowl-at", "45 C", "--add-at", "20 C", "--to", "50 C"],
         "122 °F does not lie between 113 °F in the bowl and 68 °F"),
        (["setting", "--air", "35 C"], "Air of 95 °F does not set"),
        (["schedule", "--room", "35 C"], "A room of 95.0 °F is too warm"),
        (["storage", "--coolest", "20 C", "--warmest", "18 C"], "A store of 68 to 64 °F"),
        (["temper", "--set-in", "4 min", "--room", "50 C"], "The room at 122.0 °F"),
        (["turnout", "--bar", "12 C", "--room", "90 C", "--humidity", "50 %"], "194 °F is no"),
        (["setting", "--air", "120 F"], "Air of 120 °F does not set"),
        (["storage", "--coolest", "70 F", "--warmest", "60 F"], "A store of 70 to 60 °F"),
        (["turnout", "--bar", "12 C", "--room", "200 F", "--humidity", "50 %"], "200 °F is no"),
    ],
)  # fmt: skip
def test_refusals_are_told_in_fahrenheit_on_request(
    call: Any, wrong: list[str], words: str
) -> None:
    """Message and remedy; no °C is left."""
    answer = call(*wrong, "--fahrenheit")
    assert answer.code == 2
    assert words in answer.err
    assert "°C" not in answer.err
    assert "°F" not in call(*wrong).err


QUANTITY = st.one_of(
    st.from_regex(r"\A-?[0-9]{1,4}(\.[0-9])? ?(C|F|g|kg|%|W|mm|m/s|min)?\Z"), st.text(max_size=8)
)


@given(
    st.sampled_from([name for name in EVERY if name not in ("chocolate", "schedule")]),
    st.lists(QUANTITY, min_size=6, max_size=6),
)
@settings(
    deadline=None, max_examples=80, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_any_words_give_an_answer_or_a_sentence(
    call: Any, command: str, values: list[str]
) -> None:
    """Never a fault of the program's own, whatever is typed for its values."""
    given_: list[str] = []
    fresh = iter(values)
    for word in EVERY[command]:
        given_.append(word if word.startswith("--") else next(fresh))
    answer = call(command, *given_, "--json")
    assert answer.code in (0, 2)
    if answer.code == 0:
        assert json.loads(answer.out)
