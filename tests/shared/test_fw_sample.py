"""The sample probe: passed on to the host, kept with the readings, and nothing else."""

from fw_fakes import Rig
from rigfw.journal import READINGS
from rigwire.messages import MISSING_MC


def _pushed(rig, name):
    return [one for one in rig.heard() if one.name == name]


def test_a_sample_follows_its_reading_with_the_same_number_and_time():
    """30.5 degC in the cup: one `sample` a second, numbered and timed as the reading before it."""
    rig = Rig()
    rig.board.sample_mc = 30500
    rig.run(3)
    heard = [one for one in rig.heard() if one.name in ("reading", "sample")]
    assert len(heard) >= 4 and [one.name for one in heard[:2]] == ["reading", "sample"]
    for reading, sample in zip(heard[::2], heard[1::2]):  # noqa: B905 - not on MicroPython
        assert (sample.number, sample.get("at_ms")) == (reading.number, reading.get("at_ms"))
        assert sample.get("sample_mc") == 30500


def test_a_rig_without_the_probe_never_tells_of_it():
    """No `sample` in 5 s; asked for, the kept seconds have no value."""
    rig = Rig()
    rig.run(5)
    assert _pushed(rig, "sample") == []
    kept = [row[1] for row in rig.ask("fetch_samples", 0).groups]
    assert len(kept) >= 5 and kept == [MISSING_MC] * len(kept)


def test_a_probe_that_drops_out_leaves_holes_and_comes_back():
    """Missing for 2 s of 6: four pushes; the kept rows show which seconds."""
    rig = Rig()
    seen = []
    for value_mc in (30000, 29900, MISSING_MC, MISSING_MC, 29500, 29400):
        rig.board.sample_mc = value_mc
        rig.run(1)
        seen += [one.get("sample_mc") for one in _pushed(rig, "sample")]
    assert seen == [30000, 29900, 29500, 29400]
    kept = [row[1] for row in rig.ask("fetch_samples", 0).groups]
    assert kept[:6] == [30000, 29900, MISSING_MC, MISSING_MC, 29500, 29400]


def test_eight_at_a_time_none_beyond_the_newest_and_lost_with_their_readings():
    """From 0: 8 rows. Beyond the newest: none. After 1 100 seconds the first are lost."""
    rig = Rig()
    rig.board.sample_mc = 20000
    rig.run(12)
    rows = rig.ask("fetch_samples", 0)
    assert (rows.get("first_seq"), len(rows.groups), rows.groups[7]) == (0, 8, (8000, 20000))
    assert rig.ask("fetch_samples", 500).groups == []
    for _ in range(1100):
        rig.app.reporter.keep(0)
    lost = rig.ask("fetch_samples", 0)
    assert (lost.name, lost.get("stream")) == ("lost", 0)
    assert lost.get("to_seq") >= rig.app.journal.readings.next_seq - READINGS - 3


def test_no_figure_of_the_sample_reaches_heat_or_state():
    """Two rigs, one batch; a sample of 12, 85, -55 degC beside: the same demand each second."""
    rigs = []
    for values_mc in ((MISSING_MC,), (12000, 85000, -55000)):
        rig = Rig()
        rig.board.product_mc = rig.board.plate_mc = 40000
        rig.start()
        trail = []
        for second in range(60):
            rig.board.sample_mc = values_mc[second % len(values_mc)]
            rig.run(1)
            ring = rig.app.journal.readings
            trail.append((rig.state(), ring.row(ring.newest())[:-1]))
        rigs.append(trail)
    assert rigs[0] == rigs[1]
    assert rigs[0][-1][1][7] > 0
