"""Files of a rig, on the file system of whichever interpreter runs this."""

import os

from rigfw.drivers.filekeep import FileKeep

FOLDER = "filekeep_of_a_test"


def _fresh():
    _remove()
    os.mkdir(FOLDER)
    return FileKeep(FOLDER)


def _remove():
    try:
        for name in os.listdir(FOLDER):
            os.remove(FOLDER + "/" + name)
        os.rmdir(FOLDER)
    except OSError:
        pass  # it was not there


def test_what_was_written_is_read_by_the_next_boot():
    """Bytes come back whole, the newest of them; what never was is b""."""
    try:
        keep = _fresh()
        assert keep.read("slot_a") == b""
        assert keep.write("slot_a", bytes(range(256)))
        assert keep.write("slot_a", b"newer")
        assert FileKeep(FOLDER + "/").read("slot_a") == b"newer"
        assert keep.read("slot_b") == b""
    finally:
        _remove()


def test_a_cut_before_the_rename_leaves_the_old_bytes():
    """Half a new file lies beside: the old one is read, and the next write replaces both."""
    try:
        keep = _fresh()
        keep.write("progress", b"old")
        with open(FOLDER + "/progress.new", "wb") as file:
            file.write(b"ha")
        assert FileKeep(FOLDER).read("progress") == b"old"
        assert keep.write("progress", b"new")
        assert keep.read("progress") == b"new"
        assert os.listdir(FOLDER) == ["progress"]
    finally:
        _remove()


def test_a_place_that_takes_nothing_says_so():
    """A folder that is not there: False, nothing raised, b"" read."""
    _remove()
    keep = FileKeep(FOLDER)
    assert keep.write("slot_a", b"x") is False
    assert keep.read("slot_a") == b""
