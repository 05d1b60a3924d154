"""A record with something in every table: a run over two boots, packed runs, logs read twice."""

from snapgloss.base.records import FLAG_LOGGED, Event, Identity, Reading
from snapgloss.store import NewRun
from snapgloss.store.rows import TO_THE_END, ProbeRow
from snapgloss.store.store import Store

NEW = NewRun(
    "format = 1\n", "0badf00d", "Lantern 72", "dark", "seeded", 2000, 31_000, 32_000, 31_500,
    "bench rig", False, None, "Quillby & Maar",
)  # fmt: skip
BOARDS = ("bench-1", "Bench-2")
ODD_TEXT = 'täglich \\ "Zart"\tund\nbitter\r\\N 100 % %s $1 \x07 – ∞ 🍫'


def identity(boot_nonce: int, board: str = BOARDS[0]) -> Identity:
    """One start of a board."""
    return Identity(board, boot_nonce, "0.1.0", 1, 0, "", "off", 55000, 100, 0, 0, 0, 0, False)


def readings(first: int, count: int) -> list[Reading]:
    """One a second, with probes missing now and then."""
    return [
        Reading(
            seq, seq * 1000, ("melting", "working")[seq % 7 > 2], seq % 5,
            None if seq % 11 == 0 else 31_500, None if seq % 13 == 0 else 31_000 + seq % 900,
            None, -3_250 if seq % 17 == 0 else 21_000, 120, 0, 500, seq % 256,
        )
        for seq in range(first, first + count)
    ]  # fmt: skip


def fill(store: Store, clock) -> None:
    """Put it all in, by the store's own writes; `clock.utc_ms` moves on."""
    _over_two_boots(store, clock)
    for number, board in enumerate(BOARDS):
        _finished(store, clock, 20 + number, board)
    _still_open(store, clock)
    _logs(store, clock)
    store.pack_run(2)
    _bars(store, clock)
    _sources(store, clock)


def _over_two_boots(store: Store, clock) -> None:
    boot = store.boot_id(identity(2**53 + 1))
    probes = [
        ProbeRow(role, "ds18b20", -120, 3, clock.utc_ms - 5, 2, 90)
        for role in ("plate", "Product", "room")
    ]
    run = store.begin_run(NEW, boot, 0, 2_000, probes, ["L-1", "l-2"])
    store.add_told(boot, readings(0, 60), [Event(0, 0, "step", 1, 0)], [("readings", 60, 70, "x")])
    store.add_gap(boot, "readings", 60, 65, "late")
    store.add_gap(boot, "readings", 66, TO_THE_END, "lost")
    store.add_console(boot, "Traceback\0 " + ODD_TEXT)
    clock.utc_ms += 95_000
    again = store.boot_id(identity(8))
    store.add_part(run, again, 0, 3_000)
    store.add_readings(again, readings(0, 40))
    store.add_events(
        again, [Event(0, 500, "step", 2, -7), Event(-2_000_000_000, 900, "own", 0, 0)]
    )
    store.end_run(run, 39_000, "stopped", ODD_TEXT)
    store.save_figures(run, {"lowest_c": 27.3, "minutes_working": None, "Überlauf": 1e-7})


def _finished(store: Store, clock, boot_nonce: int, board: str) -> None:
    boot = store.boot_id(identity(boot_nonce, board))
    run = store.begin_run(NEW._replace(chocolate=f"Mill {boot_nonce}", digest="11111111"), boot, 0)
    store.add_readings(boot, readings(0, 300))
    store.add_events(boot, [Event(seq, seq * 5000, "added", 1, 95) for seq in range(20)])
    clock.utc_ms += 300_000
    store.end_run(run, 299_000, "finished", "Stayed in the window.")
    store.save_all_figures(
        {run: {"lowest_c": 0.1 + boot_nonce, "peak": 1234567890123456.0, "whole": 31.0}}
    )


def _still_open(store: Store, clock) -> None:
    boot = store.boot_id(identity(40))
    store.begin_run(NEW._replace(simulated=True, seed=2**40), boot, 0)
    store.add_readings(boot, readings(0, 30))
    clock.utc_ms += 30_000


def _logs(store: Store, clock) -> None:
    rows = [r._replace(flags=FLAG_LOGGED, at_ms=r.at_ms) for r in readings(0, 50)]
    began_ms = clock.utc_ms - 9_000_000
    unsure = [Event(-1_999_999_990, 4_000, "clock_unsure", 0, 0)]
    first = store.add_log(NEW._replace(rig="by hand"), 0xFFFFFFFF, began_ms, rows, unsure)
    store.add_log(NEW._replace(rig="by hand"), 0xFFFFFFFF, began_ms, rows, (), first)
    store.set_words(first, "Read wrongly.")


def _bars(store: Store, clock) -> None:
    store.add_grade(1, "seconds", ["bloom", "soft"], "photos/1.jpg", ODD_TEXT)
    store.add_grade(2, "sell", [], None, "")
    store.add_count(1, {"made": 40, "sold": 31})
    store.add_weights(1, 100_000, [99_870, 100_410])
    store.add_smear(1, 20_500, None, True)
    store.add_smear(2, 20_500, 240, False)
    store.add_curve(1, 0.62, "in", 12_000, "0,31.5\n10,30.9\n")
    store.add_curve(1, 0.1 + 0.2, "over", None, "")
    store.add_condition(1, None, 512)
    store.add_tray(1, 1, "in", clock.utc_ms)
    store.add_tray(1, 1, "out", clock.utc_ms + 900_000)
    store.add_gloss(1, True, 2, 1 / 3, 5e-324, "photos/2.jpg")
    store.add_snap(2, False, 2, -31.25, 1e22, "sounds/1.wav")
    for words in ("second", "first", "Zum Schluss"):
        store.add_note(1, words)
    store.add_note(3, ODD_TEXT)


def _sources(store: Store, clock) -> None:
    bag = {
        "lot": "L-1", "name": ODD_TEXT, "supplier": "Hall", "mass_g": 5000,
        "best_before": "2027-06-30", "contains": ["milk"], "may_contain": ["nuts", "soya"],
    }  # fmt: skip
    store.add_bag(bag)
    store.add_bag({**bag, "lot": "l-1", "mass_g": None})
    store.add_use(1, "L-1", None, 900)
    store.add_use(1, "l-1", None, 0)
    store.add_use(2, None, 1, None)
    label = {
        "lot": "A7", "name": "Bar", "best_before": "2027-01-01", "contains": [],
        "may_contain": ["nuts"], "net_mg": 80_000,
    }  # fmt: skip
    store.add_label(1, label)
    store.add_label(1, {**label, "lot": "a7", "net_mg": 79_000})
