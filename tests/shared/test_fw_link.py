"""The wire's far end: answered once, uploads whole or not at all, a host that does not read."""

from fw_fakes import Rig, cooled_dark, is_answer
from rigwire import messages, views
from rigwire.schedule import digest, to_body


def _lines(rig, name, short, *values):
    """All answers to one request, as they come."""
    number = 1000 + short
    rig.send_line(messages.encode(name, number, values))
    return [one for one in rig.heard() if is_answer(one, number)]


def test_the_same_request_again_gets_the_same_answer_and_is_done_once():
    """`declare` sent twice under one number adds one event; both answers are ok."""
    rig = Rig()
    rig.board.product_mc = rig.board.plate_mc = 48000
    rig.start()
    before = rig.app.journal.events.next_seq
    assert _lines(rig, "declare", 900, 2, 100)[0].name == "ok"
    assert _lines(rig, "declare", 900, 2, 100)[0].name == "ok"
    added = [row for row in rig.events()[before:] if row[1] == 7]
    assert len(added) == 1


def test_a_repeated_upload_piece_is_not_appended_twice():
    """The piece at offset 0 is sent twice under one number; the upload still commits."""
    rig = Rig()
    text = rig.body.decode()
    name = digest(rig.body)
    _lines(rig, "load_open", 1, len(text), name)
    for at in range(0, len(text), 80):
        for _ in range(2):
            assert _lines(rig, "load_part", 10 + at, at, text[at : at + 80])[0].name == "ok"
    assert _lines(rig, "load_done", 2, name)[0].name == "held"


def test_a_number_with_other_bytes_is_refused():
    """Number 5 was ask_status; as `off` it is id_reused and nothing is turned off."""
    rig = Rig()
    rig.board.product_mc = rig.board.plate_mc = 48000
    rig.start()
    _lines(rig, "ask_status", 905)
    assert _lines(rig, "off", 905)[0].get("code") == "id_reused"
    assert rig.state() == "melting"


def test_hello_clears_the_memory_of_numbers():
    """After hello the same number may be another request."""
    rig = Rig()
    _lines(rig, "ask_status", 5)
    _lines(rig, "hello", 6, 1, 0, "test")
    assert _lines(rig, "off", 5)[0].name == "ok"


def test_eight_requests_are_remembered():
    """The eighth back is still the old answer; the ninth is done anew."""
    rig = Rig()
    _lines(rig, "ask_status", 1)
    for number in range(2, 9):
        _lines(rig, "ask_status", number)
    assert _lines(rig, "off", 1)[0].get("code") == "id_reused"
    _lines(rig, "ask_status", 9)
    assert _lines(rig, "off", 1)[0].name == "ok"


def test_an_upload_cut_anywhere_leaves_the_old_schedule():
    """Cut after every byte, then asked to commit: refused, and the first one is still held."""
    rig = Rig()
    first = rig.load()
    body = to_body(cooled_dark())
    desk = rig.app.desk
    for cut in range(len(body)):
        desk.upload.open(len(body), digest(body))
        if cut:
            desk.upload.part(0, body[:cut].decode())
        assert rig.ask("load_done", digest(body)).get("code") == "cut"
        assert desk.upload.digest == first
    assert desk.upload.held.method == "seeded"


def test_a_whole_upload_changes_slot_and_digest_together():
    """The second upload lies in the other slot, and hello names its digest."""
    rig = Rig()
    rig.load()
    slot = rig.app.desk.upload.slot
    rig.body = to_body(cooled_dark())
    second = rig.load()
    assert rig.app.desk.upload.slot == 1 - slot
    assert rig.ask("hello", 1, 0, "test").get("digest_held") == second


def test_damaged_text_is_refused():
    """One letter changed on the way: the digest does not agree."""
    rig = Rig()
    first = rig.load()
    text = to_body(cooled_dark()).decode()
    name = digest(text.encode())
    rig.ask("load_open", len(text), name)
    text = text.replace("Lantern", "lantern")
    for at in range(0, len(text), 80):
        rig.ask("load_part", at, text[at : at + 80])
    assert rig.ask("load_done", name).get("code") == "damaged"
    assert rig.app.desk.upload.digest == first


def test_a_schedule_hotter_than_the_rig_is_refused():
    """A rig with a ceiling of 50 degrees does not take a schedule that may reach 55."""
    rig = Rig(ceiling_mc=50000)
    name = digest(rig.body)
    text = rig.body.decode()
    rig.ask("load_open", len(text), name)
    for at in range(0, len(text), 80):
        rig.ask("load_part", at, text[at : at + 80])
    assert rig.ask("load_done", name).get("code") == "ceiling"


def test_pieces_out_of_order_or_too_long_are_refused():
    """A gap, and more than was announced, are refused with their own codes."""
    rig = Rig()
    rig.ask("load_open", 20, "00000000")
    assert rig.ask("load_part", 10, "abc").get("code") == "out_of_order"
    assert rig.ask("load_part", 0, "x" * 21).get("code") == "too_long"


def test_no_upload_while_heating():
    """Every upload message is refused in a batch, and the schedule stays."""
    rig = Rig()
    rig.start()
    held = rig.app.desk.upload.digest
    assert rig.ask("load_open", 10, "00000000").get("code") == "busy"
    assert rig.app.desk.upload.digest == held


def test_another_major_version_may_look_and_turn_off_and_nothing_else():
    """hello 2.0 is answered; whatever loads, starts or answers is `version`; hello 1.0 ends it."""
    rig = Rig()
    rig.run(2)
    name = rig.load()
    assert rig.ask("hello", 2, 0, "test").name == "hello_is"
    for request in (
        ("load_open", 71, "834d8d38"),
        ("load_part", 0, "1|a"),
        ("load_done", "834d8d38"),
        ("load_learned", "834d8d38"),
        ("ask_start", name),
        ("answer", 1),
        ("declare", 1, 100),
        ("ask_test", 100, 0, 0, 50000, 10),
        ("lease", 100, 0, 0),
    ):
        assert rig.ask(*request).get("code") == "version", request
    assert rig.app.desk.upload.digest == name and rig.state() == "off"
    assert rig.ask("ask_status").name == "status"
    assert rig.ask("fetch", 0).name == "batch" and rig.ask("fetch_events", 0).name == "events"
    assert rig.ask("off").name == "ok"
    rig.ask("hello", 1, 0, "test")
    assert rig.ask("ask_start", name).name == "ok"


def test_a_message_out_of_range_is_answered_no():
    """A good frame that is no message of the table gets `no` under its number."""
    from rigwire.frames import encode

    rig = Rig()
    rig.send_line(encode(["heat_on", 77, 1000]))
    refused = [one for one in rig.heard() if one.number == 77]
    assert [(one.name, one.get("code")) for one in refused] == [("no", "message")]
    rig.send_line(encode(["answer", 78, 99]))
    refused = [one for one in rig.heard() if one.number == 78]
    assert [(one.name, one.get("code")) for one in refused] == [("no", "message")]


def test_no_request_of_the_table_is_a_fault_in_any_state():
    """Each message to the device, with its least values, is answered; nothing ends in stopped."""
    for heated in (False, True):
        rig = Rig()
        if heated:
            rig.start()
        for row in views.TABLE:
            if row[1] != messages.TO_DEVICE or row[0] == "off":
                continue
            values = ["0" * field[2] if field[1] == "text" else field[2] for field in row[2]]
            assert rig.ask(row[0], *values) is not None
            assert (rig.state(), rig.faults) == ("melting" if heated else "off", []), row[0]


def test_a_host_that_does_not_read_loses_oldest_frames_and_holds_nothing_up():
    """60 s unread: at most 24 frames wait, the rest is counted, then one `trimmed` event."""
    rig = Rig()
    rig.board.port.is_open = False
    rig.run(60)
    dropped = rig.app.link.dropped
    assert 40 <= dropped <= 60
    assert rig.board.kicks == 240
    rig.board.port.is_open = True
    rig.board.port.outgoing = b""
    rig.run(10)
    trimmed = [row for row in rig.events() if row[1] == 16]
    assert [row[2] for row in trimmed] == [dropped]
    for message in rig.heard():
        assert message is not None


def test_writes_are_at_most_64_bytes_and_four_a_pass():
    """With a full queue a pass writes four times, no call longer than 64 bytes."""
    rig = Rig()
    rig.board.port.is_open = False
    rig.run(30)
    rig.board.port.is_open = True
    rig.board.port.writes = 0
    rig.one_pass()
    assert rig.board.port.writes == 4
    assert rig.board.port.longest <= 64


def test_a_slow_port_ends_the_writes_of_a_pass_after_20_ms():
    """Each write takes 15 ms: two of them, then the loop goes on."""
    rig = Rig()
    rig.board.port.is_open = False
    rig.run(30)
    port = rig.board.port
    port.is_open = True
    taken = port.write

    def slow(data):
        rig.clock.now = rig.clock.add(rig.clock.now, 15)
        return taken(data)

    port.write = slow
    port.writes = 0
    rig.one_pass()
    assert port.writes == 2


def test_garbage_between_frames_changes_nothing():
    """A prompt, an echo of our own reading and half a frame lie around a request."""
    rig = Rig()
    echo = messages.encode("ok", 3)
    line = messages.encode("ask_status", 44)
    rig.send_line(b">>> \r\n" + echo + b'["off",9' + b"\n" + line)
    assert len([one for one in rig.heard() if is_answer(one, 44)]) == 1
