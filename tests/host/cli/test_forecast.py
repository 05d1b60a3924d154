"""The commands that say how a batch will go, and learn the rig from batches."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from snapgloss.base.records import Identity, Reading
from snapgloss.rigs import description
from snapgloss.schedules.demo import demo, demo_text
from snapgloss.store import NewRun, open_store

ROOM_MC = 21_000


def test_a_forecast_for_a_person(call: Any) -> None:
    """Every step from and to, the whole in the last line, with the heat that goes in."""
    answer = call("forecast", "--type", "milk", "--mass", "1kg", "--method", "cooled")
    assert (answer.code, answer.err) == (0, "")
    head, *steps, whole = answer.out.splitlines()
    assert head == "Milk chocolate, 1 kg, cooled"
    assert " to " in steps[0]
    assert all("plate up to" in line for line in steps)
    assert whole.split()[:2] == ["In", "all"]
    assert whole.endswith("Wh of heat")


def test_a_described_chocolate_brings_its_own_heats(call: Any, tmp_path: Path) -> None:
    """Twice the heat of melting is so much more heat for the melt of 2 kg."""
    text = 'format = 1\nname = "x"\ntype = "dark"\nlatent_heat = "{} kJ/kg"\n'
    melts_wh = []
    for kj in (40, 80):
        file = tmp_path / f"{kj}.toml"
        file.write_text(text.format(kj))
        found = call("forecast", "--from", str(file), "--mass", "2kg", "--json").value
        melts_wh.append(found["steps"][0]["energy_wh"]["middle"])
    assert melts_wh[1] - melts_wh[0] >= 80 / 3.6


def test_a_forecast_for_a_program(call: Any) -> None:
    """Bands in their order, chances, the total of the middles and the holds."""
    found = call("forecast", "--mass", "2kg", "--json").value
    for row in found["steps"]:
        assert row["reach_min"]["low"] <= row["reach_min"]["middle"] <= row["reach_min"]["high"]
        assert 0.9 < row["chance"] <= 1.0
    total = sum(row["reach_min"]["middle"] + row["hold_min"] for row in found["steps"])
    assert found["total_min"] == pytest.approx(total, abs=0.1)
    assert found["warnings"] == []


def test_what_cannot_be_is_refused(call: Any) -> None:
    """A room of 30 degC has no low point of 28; the answer names what would work."""
    answer = call("forecast", "--method", "cooled", "--room", "30C")
    assert answer.code == 2
    assert "within 90 min with a chance of 0 %" in answer.err
    assert "the seeded method" in answer.err


def test_a_file_and_wishes_do_not_go_together(call: Any, tmp_path: Path) -> None:
    """A FILE says all already."""
    file = tmp_path / "mine.toml"
    file.write_text(demo_text(), encoding="utf-8")
    assert call("forecast", str(file)).out.startswith("Lantern 72, 2 kg, seeded")
    assert call("forecast", str(file), "--mass", "1kg").code == 2


@pytest.fixture
def cooled_run(data: Path) -> int:
    """A melted bowl of 2 kg that a full fan took to 30.5 degC by Newton's law, 5.2 W/K."""
    at_s = np.arange(760)
    held_j_per_k = 2.0 * demo().chocolate_type.specific_heat + 500.0
    product_c = 21.0 + 27.0 * np.exp(-5.2 * at_s / held_j_per_k)
    readings = [
        Reading(s, 1000 * s, "cooling", 2, 33_500, round(1000 * c), None, ROOM_MC, 0, 1000, 0, 0)
        for s, c in zip(at_s.tolist(), product_c.tolist(), strict=True)
    ]
    identity = Identity("b1", 5, "0.1.0", 1, 0, "", "off", 60_000, 100, 0, 0, 0, 0, True)
    new = NewRun(demo_text(), "0123abcd", "Lantern 72", "dark", "seeded", 2000, 31_000, 32_000,
                 31_500, "bench rig", True, 1, "Quillby & Maar")  # fmt: skip
    with open_store(data) as store:
        boot_id = store.boot_id(identity)
        run_id = store.begin_run(new, boot_id, 0)
        store.add_readings(boot_id, readings)
        store.end_run(run_id, 760_000, "finished", "Done.")
    return run_id


def test_a_rig_is_learned_and_used(call: Any, cooled_run: int, tmp_path: Path) -> None:
    """The losses come out, the file keeps them, the picture is drawn, the forecast takes it."""
    rig, picture = tmp_path / "rig.toml", tmp_path / "fit.png"
    answer = call("learn", str(cooled_run), "--out", str(rig), "--picture", str(picture))
    assert (answer.code, answer.err) == (0, "")
    assert "Taken by the fan" in answer.out
    assert picture.read_bytes().startswith(b"\x89PNG")
    learned = description.read(rig)
    fan = learned.fan_loss_w_per_k * learned.plate_w_per_k
    fan /= learned.fan_loss_w_per_k + learned.plate_w_per_k
    assert learned.loss_w_per_k + fan == pytest.approx(5.2, rel=0.12)
    assert 0 < learned.known_percent["fan_loss_w_per_k"] < 40
    assert call("forecast", "--rig", str(rig), "--json").code == 0


def test_what_was_learned_for_a_program(call: Any, cooled_run: int) -> None:
    """Figures, per cents and drift as JSON."""
    found = json.loads(call("learn", str(cooled_run), "--json").out)
    assert found["runs"][0]["run"] == cooled_run
    assert set(found["runs"][0]["figures"]) == set(found["runs"][0]["percent"])
    assert [row["words"] for row in found["drift"]] == [""] * 6


def test_a_batch_that_says_too_little(call: Any, run_1: int) -> None:
    """A record of work alone has no melt to learn from."""
    answer = call("learn", str(run_1))
    assert answer.code == 2
    assert "no readings of chocolate that was all melted" in answer.err
