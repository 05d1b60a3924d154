"""Frames: golden vectors in both directions, and the reader around them."""

import gc
import sys

from rigwire import frames
from rigwire.errors import FrameRefused
from rigwire.reader import FrameReader
from wire_vectors import load, raises

GARBAGE = (
    b"",
    b">>> ",
    b'Traceback (most recent call last):\r\n  File "main.py", line 1\r\n',
    b'["off",1',
    b"[[[[",
    b"\x00\xff\xfe",
    b"x" * 700,
)


class Heard:
    """What a reader handed on."""

    def __init__(self):
        self.arrays = []
        self.lines = []
        self.text = b""

    def frame(self, array, line):
        self.arrays.append(array)
        self.lines.append(bytes(line))

    def words(self, data):
        self.text += bytes(data)


def read(pieces):
    """Feed the pieces to a new reader; what was heard, and what it still holds."""
    reader, heard = FrameReader(), Heard()
    for piece in pieces:
        reader.feed(piece, heard.frame, heard.words)
    return heard, reader.pending


def test_crc_of_the_usual_check_string():
    """CRC-32 check value cbf43926 (catalogue of parametrised CRC algorithms, CRC-32/ISO-HDLC)."""
    assert frames.crc_hex(b"123456789") == "cbf43926"


def test_good_vectors_encode_to_their_bytes():
    """Every array of the vectors becomes exactly its line."""
    rows = load("good.json")
    assert len(rows) >= 30
    for row in rows:
        assert frames.encode(row["array"]) == row["line"], row["what"]


def test_good_vectors_decode_to_their_arrays():
    """Every line of the vectors becomes exactly its array, types included."""
    for row in load("good.json"):
        array = frames.decode(row["line"])
        assert array == row["array"], row["what"]
        assert [type(value) for value in array] == [type(value) for value in row["array"]]


def test_refused_vectors_are_refused():
    """Every line of the refused vectors raises FrameRefused and nothing else."""
    rows = load("refused.json")
    assert len(rows) >= 30
    for row in rows:
        assert raises(FrameRefused, frames.decode, row["line"]), row["what"]


def test_reader_takes_each_vector_whole_and_byte_by_byte():
    """The same frame comes out of one piece and of single bytes; nothing is left over."""
    for row in load("good.json"):
        line = row["line"]
        for pieces in ([line], [line[at : at + 1] for at in range(len(line))]):
            heard, kept = read(pieces)
            assert heard.arrays == [row["array"]] and heard.text == b"" and kept == b""


def test_reader_takes_all_vectors_back_to_back():
    """One stream of all vectors gives all arrays in order, in pieces of any size."""
    rows = load("good.json")
    stream = b"".join([row["line"] for row in rows])
    wanted = [row["array"] for row in rows]
    for size in (1, 7, 64, 255, 256, 257, len(stream)):
        heard, kept = read([stream[at : at + size] for at in range(0, len(stream), size)])
        assert heard.arrays == wanted and heard.text == b"" and kept == b""


def test_reader_finds_each_vector_in_garbage():
    """Garbage before, behind and without a line end is text; the frame still comes out."""
    for row in load("good.json"):
        for garbage in GARBAGE:
            heard, kept = read([garbage + row["line"] + garbage])
            assert heard.arrays == [row["array"]], (row["what"], garbage)
            assert heard.text + kept == garbage + garbage


def test_reader_hands_refused_lines_on_as_text():
    """Whole or byte by byte, a refused line is text to its last byte; the next frame is found."""
    good = load("good.json")[0]
    for row in load("refused.json"):
        stream = row["line"] + good["line"]
        for pieces in ([stream], [stream[at : at + 1] for at in range(len(stream))]):
            heard, kept = read(pieces)
            assert heard.arrays == [good["array"]], row["what"]
            assert heard.text == row["line"] and kept == b""


def test_reader_keeps_refused_lines_apart_back_to_back_and_in_garbage():
    """All refused lines in one stream, good ones between them, garbage around: only those come."""
    good = load("good.json")
    refused = load("refused.json")
    for garbage in GARBAGE[:-1]:  # the long one would not fit a board
        stream = garbage
        for at, row in enumerate(refused):
            stream += row["line"] + good[at % len(good)]["line"] + garbage
        wanted = [good[at % len(good)]["array"] for at in range(len(refused))]
        for size in (1, 61, 256, len(stream)):
            # A generator, and fresh ears each time: a board-sized heap holds no list of pieces.
            heard, _kept = read(stream[at : at + size] for at in range(0, len(stream), size))
            assert heard.arrays == wanted, (garbage, size)
            if sys.implementation.name == "micropython":
                gc.collect()


def test_reader_takes_good_frames_that_are_no_messages():
    """What begins with a name is a frame however it is fed; refusing it is the table's part."""
    rows = load("not_messages.json")
    stream = b"".join([row["line"] for row in rows])
    wanted = [frames.decode(row["line"]) for row in rows]
    wanted = [array for array in wanted if array and type(array[0]) is str]
    assert len(rows) - len(wanted) == 2  # no name at all: text
    for garbage in GARBAGE:
        for size in (1, 61, len(stream)):
            heard, _kept = read(
                [garbage + b"\n"] + [stream[at : at + size] for at in range(0, len(stream), size)]
            )
            assert heard.arrays == wanted, (garbage, size)


def test_incomplete_is_kept_not_refused():
    """Every cut of a frame is held in silence until its last byte."""
    line = load("good.json")[0]["line"]
    for cut in range(len(line)):
        heard, kept = read([line[:cut]])
        assert heard.arrays == [] and heard.text == b"" and kept == line[:cut]


def test_reader_never_holds_more_than_a_frame():
    """Endless bytes without a line end cost at most 255 bytes."""
    reader, heard = FrameReader(), Heard()
    for _ in range(64):
        reader.feed(b"[" * 100, heard.frame, heard.words)
        assert len(reader.pending) < frames.MAX_FRAME_BYTES
    assert len(heard.text) + len(reader.pending) == 6400


def test_encode_refuses_what_has_no_one_form():
    """Fractions, truth values, nothing, large integers and odd text cannot be sent."""
    big = frames.MAX_INTEGER + 1
    for value in (1.0, True, None, [1], big, -big, "a\n", 'a"', "a\\", "\xe9", "a" * 81, b"a"):
        assert raises(FrameRefused, frames.encode, ["off", value]), value
    assert frames.encode(["off", big - 1]) and frames.encode(["off", 1 - big])


def test_longest_frame_is_taken_and_one_byte_more_is_not():
    """256 bytes with LF is a frame, 257 is not."""
    at_limit = ["no", 1, "a" * 80, "b" * 80, "c" * 69]
    line = frames.encode(at_limit)
    assert len(line) == frames.MAX_FRAME_BYTES and frames.decode(line) == at_limit
    assert raises(FrameRefused, frames.encode, ["no", 1, "a" * 80, "b" * 80, "c" * 70])
