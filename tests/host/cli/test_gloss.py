"""The commands for gloss and snap: what is kept, what is said, what is refused."""

import json
from pathlib import Path
from typing import Any

import pytest

from snapgloss.store import open_store

from ..card_photos import Shot, photo_of
from ..card_sounds import snap_sound, wav_of


@pytest.fixture(scope="module")
def photos(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A bar that shines, and one that does less."""
    folder = tmp_path_factory.mktemp("photos")
    for name, rough_rad in (("shines", 0.006), ("dull", 0.02)):
        (folder / f"{name}.jpg").write_bytes(photo_of(Shot(rough_rad, rays=3)))
    return folder / "shines.jpg", folder / "dull.jpg"


def test_a_bar_is_a_share_of_the_kept_one(
    call: Any, run_1: int, data: Path, photos: tuple[Path, Path]
) -> None:
    """Both photos are kept as they are, said as relative, and `show` says it too."""
    assert call("gloss", "1", str(photos[0]), "--kept").code == 0
    found = call("gloss", "1", str(photos[1]), "--json").value
    assert found["relative"] is True
    assert 0.35 < found["photos"][0]["sharpness"] < 0.55
    seen = found["trend"]["bars"][0]
    assert seen["look"] == "first"
    assert seen["over"] < -seen["least"]
    said = " ".join(call("gloss", "1").out.split())
    assert " % as sharp as on the card (1 photo). That is 5" in said
    assert "of the kept bar's. Gloss of the kept bar at first" in said
    assert "relative: your tablet, your print. One bar differs by 5 % (simulated" in said
    assert "as sharp as on the card" in call("show", "1").out
    with open_store(data, to_read=True) as store:
        rows = store.glosses(1)
    assert [row.kept for row in rows] == [True, False]
    assert (data / rows[1].photo).read_bytes() == photos[1].read_bytes()


def test_a_photo_without_a_card_is_refused_and_not_kept(
    call: Any, run_1: int, data: Path, tmp_path: Path
) -> None:
    """A sentence, exit code 2, nothing in the record or the folder."""
    from ..photographs import JPEG

    path = tmp_path / "bar.jpg"
    path.write_bytes(JPEG)
    answer = call("gloss", "1", str(path))
    assert answer.code == 2
    assert "The line card is not seen in this photo." in answer.err
    assert not (data / "photos").exists()
    assert "No photo yet" in call("gloss", "1").out


def test_a_snap_is_kept_and_compared(call: Any, run_1: int, data: Path, tmp_path: Path) -> None:
    """6 dB softer than the kept bar and half as high, by the files themselves."""
    loud, soft = tmp_path / "kept.wav", tmp_path / "bar.wav"
    loud.write_bytes(wav_of(snap_sound(1, 4000.0, 0.4, room=1e-4)))
    soft.write_bytes(wav_of(snap_sound(1, 2000.0, 0.2, room=1e-4)))
    assert call("snap", "1", str(loud), "--kept").code == 0
    found = call("snap", "1", str(soft), "--json").value
    assert found["loudness"]["bars"][0]["over"] == pytest.approx(-6.0, abs=0.3)
    said = " ".join(call("snap", "1").out.split())
    assert "6 dB softer, 0.5" in said
    assert "Snap is relative: your tablet." in said
    with open_store(data, to_read=True) as store:
        row = store.snaps(1)[-1]
    assert (data / row.sound).read_bytes() == soft.read_bytes()


@pytest.mark.parametrize("name", ["none.wav", "text.wav", "."])
def test_a_sound_that_is_none_is_refused(
    call: Any, run_1: int, data: Path, tmp_path: Path, name: str
) -> None:
    """A file that is not there, one of words, a folder."""
    (tmp_path / "text.wav").write_text("no sound")
    answer = call("snap", "1", str(tmp_path / name))
    assert answer.code == 2
    assert not (data / "sounds").exists()


def test_what_was_seen_is_exported(call: Any, run_1: int, tmp_path: Path) -> None:
    """With the rest of the batch, by names of files alone: photos and sounds stay here."""
    sound = tmp_path / "bar.wav"
    sound.write_bytes(wav_of(snap_sound(2)))
    call("snap", "1", str(sound))
    out = tmp_path / "run.json"
    assert call("export", "1", "--out", str(out)).code == 0
    kept = json.loads(out.read_text(encoding="utf-8"))
    assert kept["glosses"] == []
    assert kept["snaps"][0]["sound"].startswith("sounds/run-1-")


def test_the_line_card_is_written(call: Any, data: Path, tmp_path: Path) -> None:
    """Into the data folder, or where it is wanted."""
    assert call("linecard").code == 0
    assert (data / "line-card.pdf").read_bytes().startswith(b"%PDF")
    out = tmp_path / "to print" / "card.pdf"
    assert call("linecard", "--paper", "letter", "--out", str(out)).code == 0
    assert out.is_file()
