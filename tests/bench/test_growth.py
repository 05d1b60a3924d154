"""The benches that need PostgreSQL, on a small record: what they print is what they say."""

import pytest

import growth
import transfer_rate

pytestmark = pytest.mark.server


def test_every_question_is_costed():
    """Each question of the store, with what the server says; the readings of a run are its rows,
    whatever lies beside them."""
    found = growth.of_size(8)
    assert set(found["questions"]) == set(growth.QUESTIONS)
    assert all(one["statements"] > 0 for one in found["questions"].values())
    assert found["questions"]["readings"]["rows"] >= growth.READINGS
    assert "readings" not in found["questions"]["readings"]["reads_whole"]
    apart = found["partitioned"]
    assert (apart["came"], apart["came_again"]) == (8 * growth.READINGS, 0)
    assert (apart["parts"], apart["parts_read"]) == (4, 1)
    assert 60 < found["bytes_per_reading"] < 250
    assert 0 < found["packed_bytes_per_reading"] < 30


def test_the_rate_is_of_all_readings(tmp_path):
    """All are copied, and a second copy adds none."""
    transfer_rate.fill(tmp_path, 2, 500)
    found = transfer_rate.measured(tmp_path, 1000)
    assert (found["readings"], found["again_added"]) == (1000, 0)
    assert found["readings_per_s"] > 0
