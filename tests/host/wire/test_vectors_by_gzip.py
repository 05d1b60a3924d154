"""The check sums of the vectors, recomputed by another program."""

import shutil
import struct
import subprocess

import pytest

from wire_vectors import load

LINES = [row for name in ("good.json", "not_messages.json") for row in load(name)]
# What is refused for its form carries a right check sum, so that only the form can refuse it.
FORM_ONLY = [row for row in load("refused.json") if row["refused_for"] == "form"]
SCHEDULES = load("schedules.json")


def gzip_crc(data: bytes) -> str:
    """CRC-32 as the gzip program writes it in its trailer (RFC 1952, section 2.3.1)."""
    packed = subprocess.run(["gzip", "-c"], input=data, capture_output=True, check=True).stdout
    return f"{struct.unpack('<I', packed[-8:-4])[0]:08x}"


@pytest.mark.skipif(shutil.which("gzip") is None, reason="the gzip program is not installed")
def test_check_sums_agree_with_gzip() -> None:
    """Every vector carries the check sum that the gzip program gives its body."""
    assert len(LINES) > 40 and len(FORM_ONLY) > 25 and len(SCHEDULES) > 30
    assert gzip_crc(b"123456789") == "cbf43926"
    for row in LINES + FORM_ONLY:
        body, written = row["line"][:-10], row["line"][-9:-1].decode()
        assert gzip_crc(body) == written, row["what"]
    for row in SCHEDULES:
        assert gzip_crc(row["text"].encode()) == row["digest"], row["what"]
    for row in load("refused.json"):
        if row["refused_for"] == "check sum":
            body, written = row["line"][:-10], row["line"][-9:-1]
            assert gzip_crc(body).encode() != written, row["what"]
