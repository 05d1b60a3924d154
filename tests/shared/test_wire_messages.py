"""Messages: the table, and what it refuses."""

from rigwire import frames, messages, tables, views
from rigwire.errors import MessageRefused
from rigwire.message_table import GROUPS, REPORTS, REQUESTS
from rigwire.messages import TO_DEVICE, TO_HOST
from rigwire.views import TABLE
from wire_vectors import load, raises

DIRECTION = {row[0]: row[1] for row in TABLE}
FIELDS = {row[0]: row[2] for row in TABLE}
GROUP = {row[0]: row[3] for row in TABLE}


def _encoded_again(message):
    return messages.encode(message.name, message.number, message.values, message.groups)


def _at(fields, which):
    """One value per field: its least or its greatest."""
    values = []
    for _name, unit, low, high in fields:
        bound = low if which == "least" else high
        values.append("a" * bound if unit == "text" else bound)
    return values


def test_every_message_of_the_table_has_a_vector():
    """No message can be added without golden bytes."""
    seen = set([row["array"][0] for row in load("good.json")])
    assert seen == set([row[0] for row in TABLE])


def test_the_rows_for_people_are_those_of_the_table():
    """The view has every message of the device's table once, and no other; so have its words."""
    names = [row[0] for row in TABLE]
    assert sorted(names) == sorted(list(REQUESTS) + list(REPORTS))
    assert set(GROUPS) == set([row[0] for row in TABLE if row[3]])
    assert len(views.EVENT_KINDS) == len(tables.EVENT_NAMES) == 24
    assert len(views.STOPS) == tables.STOP_COUNT == 22


def test_vectors_parse_and_encode_again():
    """Every good vector is a message in its direction and encodes to the same bytes."""
    for row in load("good.json"):
        message = messages.parse(row["array"], DIRECTION[row["array"][0]])
        assert message.name == row["array"][0] and message.number == row["array"][1]
        assert _encoded_again(message) == row["line"], row["what"]


def test_fields_are_found_by_name():
    """`get` reads the value of its place in the table; an unknown field raises KeyError."""
    array = ["reading", 81, 81000, 3, 1, 48000, 31562, 57312, 21000, 1000, 0, 500, 2]
    message = messages.parse(array, TO_HOST)
    assert message.get("at_ms") == 81000 and message.get("product_mc") == 31562
    assert message.get("flags") == 2
    assert raises(KeyError, message.get, "product_c")


def test_not_messages_are_refused():
    """Good frames that are no message of their direction raise MessageRefused."""
    rows = load("not_messages.json")
    assert len(rows) >= 15
    for row in rows:
        array = frames.decode(row["line"])
        assert raises(MessageRefused, messages.parse, array, row["direction"]), row["what"]


def test_each_name_belongs_to_one_direction():
    """A name stands once in the table, and the other side refuses it."""
    names = [row[0] for row in TABLE]
    assert len(names) == len(set(names))
    for row in load("good.json"):
        other = TO_HOST if DIRECTION[row["array"][0]] == TO_DEVICE else TO_DEVICE
        assert raises(MessageRefused, messages.parse, row["array"], other)
        assert raises(MessageRefused, messages.parse, row["array"], other, True)


def test_every_field_is_taken_at_its_bounds_and_refused_past_them():
    """Least and greatest pass; one less and one more do not."""
    for row in TABLE:
        for which, past in (("least", -1), ("most", 1)):
            values = _at(row[2], which)
            array = [row[0], 0] + values
            assert messages.parse(array, row[1]).values == values
            for index, (_field, unit, low, high) in enumerate(row[2]):
                bound = (low if past < 0 else high) + past
                if unit == "text" and bound < 0:
                    continue
                worse = list(array)
                worse[2 + index] = "a" * bound if unit == "text" else bound
                assert raises(MessageRefused, messages.parse, worse, row[1]), (row[0], _field)


def test_every_message_fits_a_frame_at_its_greatest():
    """The longest possible form of each message is at most 256 bytes."""
    for name, direction, fields, group, most, _purpose in TABLE:
        groups = [_at(group, "most")] * most
        if group:
            # The missing mark is longer in writing than any temperature.
            groups = [[low if unit == "mC" else high for _n, unit, low, high in group]] * most
        line = messages.encode(name, frames.MAX_INTEGER, _at(fields, "most"), groups)
        assert len(line) <= frames.MAX_FRAME_BYTES, name
        assert messages.parse(frames.decode(line), direction).name == name


def test_groups_are_whole_rows_and_bounded():
    """A batch holds 0 to 3 readings; a value more or less, or a fourth reading, is refused."""
    reading = _at(GROUP["batch"], "least")
    for count in (0, 1, 2, 3):
        message = messages.parse(["batch", 1, 0] + reading * count, TO_HOST)
        assert len(message.groups) == count
    assert raises(MessageRefused, messages.parse, ["batch", 1, 0] + reading * 4, TO_HOST)
    assert raises(MessageRefused, messages.parse, ["batch", 1, 0] + reading[1:], TO_HOST)


def test_host_ignores_what_a_newer_minor_adds():
    """Lenient: trailing values are ignored and an unknown name is None; strict refuses both."""
    assert messages.parse(["ok", 1, 99, "new"], TO_HOST, True).values == []
    assert messages.parse(["dance", 1, 2], TO_HOST, True) is None
    assert raises(MessageRefused, messages.parse, ["ok", 1, 99], TO_HOST)
    assert raises(MessageRefused, messages.parse, ["dance", 1, 2], TO_HOST)


def test_host_takes_greater_numbers_of_words_and_of_nothing_else():
    """Lenient: a state of 13 or a flag of 1024 may be a newer rig's; strict refuses both."""
    array = ["reading", 81, 81000, 3, 1, 48000, 31562, 57312, 21000, 1000, 0, 500, 2]
    for place, value, may in ((3, 13, True), (12, 1024, True), (9, 1001, False), (3, -1, False)):
        newer = list(array)
        newer[place] = value
        assert raises(MessageRefused, messages.parse, newer, TO_HOST)
        if may:
            assert messages.parse(newer, TO_HOST, True).values == newer[2:]
        else:
            assert raises(MessageRefused, messages.parse, newer, TO_HOST, True)
    rows = messages.parse(["events", 1, 0, 1000, 140, 0, 0], TO_HOST, True).groups
    assert rows == [(1000, 140, 0, 0)]


def test_encode_refuses_what_parse_would():
    """The sender finds its own mistake before a byte leaves."""
    assert raises(MessageRefused, messages.encode, "dance", 1)
    assert raises(MessageRefused, messages.encode, "off", -1)
    assert raises(MessageRefused, messages.encode, "off", 1, [1])
    assert raises(MessageRefused, messages.encode, "fetch", 1, [-1])
    assert raises(MessageRefused, messages.encode, "off", 1, [], [[1]])


def test_words_are_plain_text_and_numbers_are_places():
    """Every word of the tables can travel; a stop's code is its place."""
    for table in (tables.STEP_KINDS, tables.METHODS, tables.START_STATES, tables.PROMPTS):
        assert len(set(table)) == len(table)
    for place, (code, key, words) in enumerate(views.STOPS):
        assert code == place and frames.is_plain_text(key) and frames.is_plain_text(words)
    bits = [bit for bit, _name in views.FLAGS]
    assert bits == [1 << place for place in range(len(bits))]
