"""The record of commissioning as a page: who, what, when, on which board, with which probes."""

from snapgloss.report.commissioning_sheet import page
from snapgloss.rigs.commissioning import DAY_MS, Entry, There, states
from snapgloss.rigs.commissioning_steps import KEYS, MONTHLY

NOW = 1_790_000_000_000
CRC = "0123abcd"
PROBES = "ds18b20,2801 ds18b20,2802"


def entry(key: str, **changes: object) -> Entry:
    """A passed, signed step of a real rig."""
    usual = Entry(
        NOW, key, "passed", 10.0, "10 kΩ; must be: 3 to 11 kΩ", "Maar", "pico-1", CRC, False,
        PROBES,
    )  # fmt: skip
    return usual._replace(**changes)  # type: ignore[arg-type]


def test_a_proved_rig_on_paper() -> None:
    """Every step with its figure, name and day; the board and the probes that were there."""
    found = states([entry(key) for key in KEYS], CRC, NOW)
    text = page("Lantern rig", CRC, found)
    assert "Every step is passed and signed" in text
    assert f"Done on board pico-1; probes of chocolate and plate: {PROBES}." in text
    assert text.count("<td>10 kΩ</td>") == text.count("<td>Maar</td>") == len(KEYS)
    assert "SIMULATED" not in text
    assert text.count('<td class="day">2026-09-21</td>') == len(KEYS)
    monthly = [one for one in found if one.step.days == MONTHLY]
    assert monthly[0].due_utc_ms == NOW + MONTHLY * DAY_MS
    assert text.count('<td class="day">2026-10-22</td>') == len(monthly)


def test_what_does_not_count_says_why_on_paper() -> None:
    """Another board, another probe, a step never done."""
    done = [entry("fuses", board="pico-0"), entry("ice_point", probes="ds18b20,2809")]
    text = page("Lantern rig", CRC, states(done, CRC, NOW, there=There("pico-1", PROBES)))
    assert text.count('"state">of another board') == 1
    assert text.count('"state">of another probe') == 1
    assert text.count('"state">not done') == len(KEYS) - 2


def test_a_name_is_text_and_nothing_else() -> None:
    """Markup in names of rig and person stays text."""
    text = page("<b>rig</b>", CRC, states([entry("fuses", name="<script>x</script>")], CRC, NOW))
    assert "<b>rig</b>" not in text and "<script>" not in text
    assert "&lt;script&gt;" in text
