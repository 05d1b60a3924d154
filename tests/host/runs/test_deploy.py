"""Firmware onto a scripted board through mpremote: checked, whole or not at all, and back."""

import zlib
from pathlib import Path

import pytest
from mpremote import transport_serial

from rigfw import codelist, slots
from rigfw.config import RigConfig
from rigfw.drivers.probelist import listed
from rigfw.pinmap import gpio
from rigwire.frames import crc_hex
from snapgloss.base.errors import InputError, LinkError, RigError, VersionError
from snapgloss.link.board import PromptBoard, entered
from snapgloss.link.compiler import compiled
from snapgloss.rigs import board_image as images
from snapgloss.rigs import probe_list
from snapgloss.rigs.board_image import Image
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.rigs.manifest import firmware_files
from snapgloss.runs.deploy import Settings, deploy, roll_back, verified

from ..prompt_double import PromptSerial, PromptTransport, copy_of

HEAD = b"M\x06\x00\x1f"
OLD = Image({"rigfw/app.mpy": HEAD + b"old app", "rigwire/frames.mpy": HEAD + b"old"}, "0.0.9")
NEW = Image(
    {
        "rigfw/app.mpy": HEAD + b"new app" * 200,
        "rigfw/pico/main.mpy": HEAD + b"new main",
        "rigwire/frames.mpy": HEAD + b"new frames",
    },
    "0.1.0",
)
PROBES = {"chocolate": probe_list.entry("ds18b20,2801001a2b00005f", -120)}
SETTINGS = Settings(BENCH_RIG.to_config_text(), probe_list.line_of(PROBES))


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """mpremote waits in real time for a real board; the double answers at once."""
    at_s = [0.0]

    def sleep(span_s: float) -> None:
        at_s[0] += span_s

    monkeypatch.setattr(transport_serial.time, "sleep", sleep)
    monkeypatch.setattr(transport_serial.time, "monotonic", lambda: at_s[0])


@pytest.fixture
def serial(tmp_path: Path) -> PromptSerial:
    """An empty board at its prompt."""
    flash = tmp_path / "flash"
    flash.mkdir()
    return PromptSerial(flash)


def board_of(serial: PromptSerial) -> PromptBoard:
    """That board, entered."""
    return entered(PromptTransport(serial))


def put(serial: PromptSerial, image: Image, settings: Settings = Settings()) -> None:  # noqa: B008
    """Deploy, and wake the board after its restart."""
    deploy(board_of(serial), image, settings, lambda _words: None)
    serial.wake()


def described(serial: PromptSerial) -> RigConfig:
    """The rig as the firmware reads it from its two slots. Raises ConfigRefused."""
    paths = [serial.flash / name for name in slots.FILES]
    return slots.newest([path.read_text().strip() if path.exists() else None for path in paths])


def test_the_board_finds_its_files_whole_by_its_own_list(serial: PromptSerial) -> None:
    """The firmware's own reader of code.txt: fit; one byte of one file changed: named."""
    put(serial, NEW)
    folder = serial.flash / "fw_a"
    sums = (folder / "code.txt").read_text().strip()

    def crc_of(name: str) -> str:
        return f"{zlib.crc32((folder / name).read_bytes()):08x}"

    assert codelist.why_unfit(sums, crc_of) == ""
    (folder / "rigfw/app.mpy").write_bytes(b"rotten")
    assert codelist.why_unfit(sums, crc_of).startswith("rigfw/app.mpy is damaged")


def test_a_description_never_lies_in_one_slot_alone(serial: PromptSerial) -> None:
    """Three descriptions in turn: always the newest counts, and the one before is whole."""
    for heater_w in (50, 60, 75):
        text = BENCH_RIG.model_copy(update={"heater_w": heater_w}).to_config_text()
        put(serial, NEW, Settings(text))
        assert described(serial).heater_w == heater_w
    held = [slots.from_slot((serial.flash / name).read_text().strip()) for name in slots.FILES]
    assert sorted(one[0] for one in held) == [2, 3]


def test_an_empty_board_gets_everything(serial: PromptSerial) -> None:
    """Files, listing, start-up files, settings; then one restart. Bytes are those sent."""
    said: list[str] = []
    done = deploy(board_of(serial), NEW, SETTINGS, said.append)
    assert (done.version, done.folder, done.file_count, done.back_to) == ("0.1.0", "fw_a", 3, None)
    for path, data in NEW.files.items():
        assert (serial.flash / "fw_a" / path).read_bytes() == data
    assert (serial.flash / "boot.py").read_text() == (
        'import sys; sys.path.insert(0, "/fw_a")\n'
        "from rigfw.pico import boot; boot.outputs_off()\n"
    )
    assert (serial.flash / "main.py").read_text() == ("from rigfw.pico import main\nmain.run()\n")
    assert serial.resets == 1
    assert "1 of 3: rigfw/app.mpy, 1404 bytes" in said


def test_the_board_reads_its_settings_as_the_firmware_does(serial: PromptSerial) -> None:
    """Description and probes.txt pass the firmware's own readers, calibration included."""
    put(serial, NEW, SETTINGS)
    config = described(serial)
    assert config.heater_w == BENCH_RIG.heater_w
    chocolate, *others = listed((serial.flash / "probes.txt").read_text().strip())
    assert chocolate["rom"].hex() == "2801001a2b00005f"
    assert (chocolate["offset_mk"], others) == (-120, [None, None, None])


def test_the_listing_is_whole_and_every_crc_is_that_of_zlib(serial: PromptSerial) -> None:
    """The listing on the board names each file with size and CRC-32."""
    put(serial, NEW)
    listing = images.read_listing((serial.flash / "fw_a" / images.LISTING).read_bytes())
    assert listing is not None
    assert listing.files == {
        path: (len(data), zlib.crc32(data)) for path, data in NEW.files.items()
    }
    assert verified(board_of(serial), "fw_a") == listing


def test_the_probes_on_the_bus_are_named_as_the_option_wants_them(serial: PromptSerial) -> None:
    """A DS18B20, another chip, one bit wrong; the bus is that of the pin map."""
    good, other = bytes.fromhex("2801001a2b00005f"), bytes.fromhex("021cb801000000a2")
    garbled = bytes([good[0], good[1] ^ 1]) + good[2:]
    serial.bus = {gpio("PROBES"): [good, other, garbled]}
    found = probe_list.on_bus(board_of(serial).on_bus(gpio("PROBES")))
    assert found[0] == "ds18b20,2801001a2b00005f"
    assert probe_list.entry(found[0]).kind == found[0]
    assert found[1] == "021cb801000000a2: no DS18B20"
    assert found[2].startswith("2800001a2b00005f: garbled")
    assert serial.writes == 0
    serial.bus = {}
    assert board_of(serial).on_bus(gpio("PROBES")) == []


def test_two_folders_take_turns_and_back_goes_back(serial: PromptSerial) -> None:
    """Old in a, new in b; back names a again, with the settings that it had."""
    old_rig = BENCH_RIG.model_copy(update={"heater_w": 60}).to_config_text()
    put(serial, OLD, Settings(old_rig, None))
    put(serial, NEW, SETTINGS)
    assert images.folder_of((serial.flash / "boot.py").read_bytes()) == "fw_b"
    done = roll_back(board_of(serial), lambda _words: None)
    assert (done.version, done.folder, done.back_to) == ("0.0.9", "fw_a", "fw_b")
    assert (done.board, done.restored) == ("pico-12ab", ("rig",))  # as it names itself in hello
    assert images.folder_of((serial.flash / "boot.py").read_bytes()) == "fw_a"
    assert described(serial).to_text() == old_rig


def test_settings_of_an_earlier_time_do_not_come_back(serial: PromptSerial) -> None:
    """A set put on without new settings leaves no older ones to return to."""
    put(serial, OLD, SETTINGS)
    put(serial, NEW, Settings(BENCH_RIG.model_copy(update={"heater_w": 60}).to_config_text()))
    put(serial, NEW)
    before = described(serial).to_text()
    roll_back(board_of(serial), lambda _words: None)
    assert described(serial).to_text() == before


def test_back_needs_something_whole(serial: PromptSerial) -> None:
    """An empty board, a first set, a damaged one: refused, and boot.py stays."""
    with pytest.raises(InputError, match="nothing to go back to"):
        roll_back(board_of(serial), lambda _words: None)
    put(serial, OLD)
    with pytest.raises(InputError, match="nothing to go back to"):
        roll_back(board_of(serial), lambda _words: None)
    put(serial, NEW)
    (serial.flash / "fw_a" / "rigfw" / "app.mpy").write_bytes(b"rotten")
    with pytest.raises(RigError, match=r"fw_a/rigfw/app.mpy on the board is damaged"):
        roll_back(board_of(serial), lambda _words: None)
    assert images.folder_of((serial.flash / "boot.py").read_bytes()) == "fw_b"


def test_a_file_damaged_once_on_the_way_is_sent_again(serial: PromptSerial) -> None:
    """One spoilt write is noticed by its CRC and mended."""
    serial.spoils = {"/fw_a/rigfw/app.mpy": 1}
    put(serial, NEW)
    assert (serial.flash / "fw_a/rigfw/app.mpy").read_bytes() == NEW.files["rigfw/app.mpy"]


def test_a_file_that_stays_damaged_ends_it_with_the_old_set(serial: PromptSerial) -> None:
    """Twice wrong: refused in words; the board still starts what it had."""
    put(serial, OLD)
    serial.spoils = {"/fw_b/rigfw/app.mpy": 9}
    with pytest.raises(RigError, match="is not what was sent") as refused:
        put(serial, NEW)
    assert "still has what it had before" in refused.value.remedy
    assert images.folder_of((serial.flash / "boot.py").read_bytes()) == "fw_a"
    assert not (serial.flash / "fw_b").exists()
    assert serial.resets == 1


def is_bootable(serial: PromptSerial) -> str | None:
    """The version that the board would start, every file whole; None for none at all."""
    boot = serial.flash / "boot.py"
    if not boot.exists():
        return None
    folder = images.folder_of(boot.read_bytes())
    listing = images.read_listing((serial.flash / str(folder) / images.LISTING).read_bytes())
    assert listing is not None
    for path, (size, crc) in listing.files.items():
        data = (serial.flash / str(folder) / path).read_bytes()
        assert (len(data), zlib.crc32(data)) == (size, crc), path
    return listing.version


def test_power_may_go_at_any_write(serial: PromptSerial, tmp_path: Path) -> None:
    """Cut before every change of the flash in turn: old or new, each whole, never a mixture."""
    put(serial, OLD, SETTINGS)
    whole = PromptSerial(copy_of(serial.flash, tmp_path / "whole"))
    put(whole, NEW, SETTINGS)
    seen = set()
    for cut_at in range(1, whole.writes + 1):
        cut = PromptSerial(copy_of(serial.flash, tmp_path / f"cut{cut_at}"))
        cut.cut_at = cut_at
        with pytest.raises((LinkError, RigError)):
            put(cut, NEW, SETTINGS)
        cut.wake()
        seen.add(is_bootable(cut))
        assert described(cut).heater_w == BENCH_RIG.heater_w
        put(cut, NEW, SETTINGS)
        assert is_bootable(cut) == "0.1.0"
    assert seen == {"0.0.9"}
    assert whole.writes > 20


REFUSED = {
    "a running Python of a desk": ({"platform": "linux"}, InputError, "of another kind"),
    "another chip": ({"platform": "esp32"}, InputError, "calls itself esp32"),
    "an old MicroPython": ({"version": (1, 19, 1, "")}, VersionError, "has MicroPython 1.19.1"),
    "another format": ({"mpy": 0x1105}, VersionError, "of format 5; these have 6"),
    "a full board": ({"flash_bytes": 40_000}, RigError, "The board is full: 36 kB are free"),
    "a silent board": ({"is_silent": True}, LinkError, "does not come to its prompt"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_board_that_cannot_is_refused_and_left_as_it_was(
    serial: PromptSerial, case: str
) -> None:
    """Wrong, old, full or silent: a sentence, no file changed, no restart."""
    changes, kind, words = REFUSED[case]
    for name, value in changes.items():
        setattr(serial, name, value)
    with pytest.raises(kind, match=words):
        put(serial, NEW, SETTINGS)
    assert list(serial.flash.iterdir()) == []
    assert serial.resets == 0


def test_a_flash_that_fills_up_on_the_way_is_cleared_again(serial: PromptSerial) -> None:
    """Room was there when it was asked; another file took it: refused, the half set removed."""
    put(serial, OLD)
    serial.flash_bytes = serial.flash_bytes - serial.free_bytes() + 60_000

    def fill(words: str) -> None:
        if words.startswith("2 of 3"):
            (serial.flash / "slot_a").write_bytes(bytes(60_000))

    with pytest.raises(RigError, match="its flash is full or fails"):
        deploy(board_of(serial), NEW, Settings(), fill)
    assert not (serial.flash / "fw_b").exists()
    assert is_bootable(serial) == "0.0.9"


def test_the_real_firmware_compiles_into_one_image() -> None:
    """Every file of both packages, of one format, no path of this computer, under 150 kB."""
    files = firmware_files()
    image = compiled(files)
    assert set(image.files) == {name.removesuffix(".py") + ".mpy" for name in files}
    assert image.format_no == 6
    assert sum(map(len, image.files.values())) < 150_000
    here = str(Path(__file__).parents[3]).encode()
    assert not [name for name, data in image.files.items() if here in data]
    assert image.flash_bytes * 2 + 32_768 < 1_400_000  # both sets fit a Pico's flash


@pytest.mark.parametrize(
    ("probes", "words"),
    [
        ({}, "No probe is named for the chocolate"),
        ({"chocolate": "28ff"}, "is no probe"),
        ({"chocolate": "ds18b20,2801001a2b00005f", "plate": "ds18b20,2801001a2b00005f"}, "same"),
        ({"chocolate": "ntc,4,10000,32554,10000,3606"}, "is no probe"),
        ({"chocolate": "ntc,1,10000,32554,10000,3606", "bowl": "pt100,1,430,3,50"}, "No role"),
    ],
)
def test_bad_lists_of_probes_are_refused(probes: dict[str, str], words: str) -> None:
    """A probe in no place, twice, or of no kind never reaches the board."""
    with pytest.raises(InputError, match=words):
        probe_list.line_of({role: probe_list.entry(kind) for role, kind in probes.items()})


def test_every_kind_of_probe_is_read_by_the_firmware() -> None:
    """The line of four kinds passes the firmware's own reader, and comes back equal."""
    probes = {
        "chocolate": probe_list.entry("ds18b20,2801001a2b00005f", 30, -12),
        "plate": probe_list.entry("ntc,1,10000,32554,10000,3606"),
        "room": probe_list.entry("ntc_beta,2,10000,10000,3977"),
        "sample": probe_list.entry("pt1000,2,4300,4,60", 5),
    }
    line = probe_list.line_of(probes)
    assert [one["kind"] for one in listed(line)] == ["ds18b20", "ntc", "ntc_beta", "pt1000"]
    assert probe_list.read_line(line + "\n") == probes
    for strange in ("probes|2|o|-|-|-", "probes|2|o,p,q|-|-|-", "probes|2|ntc,1,0,0|-|-|-"):
        assert probe_list.read_line(f"{strange}|{crc_hex(strange.encode())}") is None
    assert probe_list.read_line(line.replace("30", "31")) is None


def test_a_listing_with_any_byte_changed_is_no_listing() -> None:
    """Each byte in turn turned by one bit: never read as whole."""
    good = NEW.listing()
    assert images.read_listing(good) is not None
    for at in range(len(good) - 1):
        bad = bytearray(good)
        bad[at] ^= 1
        assert images.read_listing(bytes(bad)) is None, at
    assert images.read_listing(b"") is None
