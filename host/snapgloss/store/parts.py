"""Which rows of which boots make up a run, and how their times follow one another."""

from collections.abc import Sequence
from itertools import pairwise
from operator import attrgetter
from typing import Any

from sqlalchemy import Connection, Row, Select, Table, func, insert, select, update

from snapgloss.base.records import STREAMS, Reading
from snapgloss.store import packed
from snapgloss.store.rows import TO_THE_END, GapRow, PartRow
from snapgloss.store.tables import EVENTS, GAPS, READINGS, RUN_PARTS

LOST_LEAST_MS = 4_000
"""So far a part is put behind one whose last records were lost: more than between two readings."""
STOOD_MOST_MS = 12 * 3600 * 1000
"""No bowl keeps its chocolate within the limits of a step for so long without heat: a host's clock
that says so has jumped, such as one that had no battery and was set by the network meanwhile."""


def begin(
    connection: Connection, run_id: int, boot_id: int, start_ms: int, begun_utc_ms: int
) -> None:
    """Add a part that began at `begun_utc_ms`; what was open on this boot ends one ms before."""
    open_on_boot = (RUN_PARTS.c.boot_id == boot_id) & RUN_PARTS.c.end_ms.is_(None)
    connection.execute(update(RUN_PARTS).where(open_on_boot).values(end_ms=start_ms - 1))
    of_this_run = RUN_PARTS.c.run_id == run_id
    count = select(func.count()).select_from(RUN_PARTS).where(of_this_run)
    row = {
        "run_id": run_id,
        "part_no": connection.execute(count).scalar_one(),
        "boot_id": boot_id,
        "start_ms": start_ms,
        "end_ms": None,
        "begun_utc_ms": begun_utc_ms,
    }
    connection.execute(insert(RUN_PARTS), row)


def end(connection: Connection, run_id: int, end_ms: int) -> None:
    """End the run's last part; the boots before it are over."""
    last = select(func.max(RUN_PARTS.c.part_no)).where(RUN_PARTS.c.run_id == run_id)
    wanted = (RUN_PARTS.c.run_id == run_id) & (RUN_PARTS.c.part_no == last.scalar_subquery())
    connection.execute(update(RUN_PARTS).where(wanted).values(end_ms=end_ms))


def of_run(connection: Connection, run_id: int) -> list[PartRow]:
    """The run's parts with the shift that puts each behind the one before.

    A later boot's times are shifted by the host's time between the two beginnings, and at
    least so far that no time of it comes before the last reading of the part before, and a gap
    shows where records were lost. A host's clock that jumped is not believed: how long the rig
    stood still is not known then, and only that it did is told.
    """
    wanted = select(RUN_PARTS).where(RUN_PARTS.c.run_id == run_id).order_by(RUN_PARTS.c.part_no)
    made: list[PartRow] = []
    first: Row[Any] | None = None
    for row in connection.execute(wanted).all():
        first = first or row
        by_host_ms = (row.begun_utc_ms - first.begun_utc_ms) - (row.start_ms - first.start_ms)
        least_ms = _follows_ms(connection, made[-1]) - row.start_ms if made else 0
        if by_host_ms - least_ms > STOOD_MOST_MS:
            by_host_ms = least_ms + LOST_LEAST_MS
        shift_ms = max(by_host_ms, least_ms) if made else 0
        made.append(PartRow(row.boot_id, row.start_ms, row.end_ms, shift_ms))
    return made


def unheard_ms(connection: Connection, run_id: int) -> list[int]:
    """Where parts begin whose rig had gone on unheard before it started anew, shifted ms."""
    pairs = pairwise(of_run(connection, run_id))
    return [
        part.start_ms + part.shift_ms
        for before, part in pairs
        if _is_lost_to_the_end(connection, before.boot_id)
    ]


def _follows_ms(connection: Connection, part: PartRow) -> int:
    is_lost = _is_lost_to_the_end(connection, part.boot_id)
    return _last_at_ms(connection, part) + (LOST_LEAST_MS if is_lost else 1)


def _is_lost_to_the_end(connection: Connection, boot_id: int) -> bool:
    wanted = (GAPS.c.boot_id == boot_id) & (GAPS.c.to_seq == TO_THE_END)
    return connection.execute(select(GAPS.c.from_seq).where(wanted)).first() is not None


def _last_at_ms(connection: Connection, part: PartRow) -> int:
    at_ms = _newest_at_ms(connection, part)
    return int(part.start_ms if at_ms is None else at_ms) + part.shift_ms


def _newest_at_ms(connection: Connection, part: PartRow) -> int | None:
    newest = select(func.max(READINGS.c.at_ms)).where(_within(READINGS, part))
    at_ms = connection.execute(newest).scalar()
    kept = packed.in_part(connection, part)
    known = ([] if at_ms is None else [int(at_ms)]) + [reading.at_ms for reading in kept[-1:]]
    return max(known, default=None)


def newest_utc_ms(connection: Connection, run_id: int) -> int | None:
    """When the newest reading of the run's last part was taken; None when there is none."""
    newest = of_run(connection, run_id)[-1:]
    wanted = select(RUN_PARTS.c.begun_utc_ms).where(RUN_PARTS.c.run_id == run_id)
    begun_utc_ms = connection.execute(wanted.order_by(RUN_PARTS.c.part_no.desc())).scalar()
    if not newest or begun_utc_ms is None:
        return None
    at_ms = _newest_at_ms(connection, newest[0])
    return None if at_ms is None else int(begun_utc_ms + at_ms - newest[0].start_ms)


def rows(connection: Connection, table: Table, part: PartRow) -> list[tuple[Any, ...]]:
    """Rows of `table` (readings or events) in the part: seq, shifted at_ms, then the rest.

    In the order of the rig; events of this program's own lie between them by their time.
    """
    rest = [c.name for c in table.c if c.name not in ("boot_id", "seq", "at_ms")]
    return _rows(connection, table, part, ["seq", "at_ms", *rest])


def _rows(
    connection: Connection, table: Table, part: PartRow, names: Sequence[str]
) -> list[tuple[Any, ...]]:
    shifted = (table.c.at_ms + part.shift_ms).label("at_ms")
    columns = [shifted if name == "at_ms" else table.c[name] for name in names]
    wanted = select(*columns).where(_within(table, part))
    order = (table.c.at_ms, table.c.seq) if table is EVENTS else (table.c.seq,)
    return _plain(connection, wanted.order_by(*order))


def _plain(connection: Connection, wanted: Select[Any]) -> list[tuple[Any, ...]]:
    """The rows as the driver gives them, in the same transaction; only for whole numbers and
    text, which need no conversion. Rows of SQLAlchemy's own cost as much again, by the thousand.
    """
    said = wanted.compile(connection, compile_kwargs={"literal_binds": True})
    cursor = connection.connection.cursor()
    try:
        cursor.execute(str(said))
        return list(cursor.fetchall())
    finally:
        cursor.close()


def readings(connection: Connection, part: PartRow) -> list[Reading]:
    """The readings of the part, packed or not, their times shifted."""
    kept = packed.in_part(connection, part)
    found = list(map(Reading._make, rows(connection, READINGS, part)))
    if not kept:
        return found
    if part.shift_ms:
        kept = [r._replace(at_ms=r.at_ms + part.shift_ms) for r in kept]
    if not found:
        return kept
    by_seq = {reading.seq: reading for reading in (*found, *kept)}
    return [by_seq[seq] for seq in sorted(by_seq)]


def columns(connection: Connection, part: PartRow, names: Sequence[str]) -> list[tuple[Any, ...]]:
    """Some columns of `readings`, by their names; quicker while none of them is packed."""
    if packed.is_any(connection, part):
        found = list(map(attrgetter(*names), readings(connection, part)))
    else:
        found = _rows(connection, READINGS, part, names)
    return list(zip(*found, strict=True)) or [()] * len(names)


def gaps(connection: Connection, part: PartRow) -> list[GapRow]:
    """What was lost of each stream between the part's first and last record of it."""
    found: list[GapRow] = []
    for stream, table in zip(STREAMS, (READINGS, EVENTS), strict=True):
        told = _within(table, part) & (table.c.seq >= 0)
        ends = [  # by the key's order from either end: a least and a greatest would read all
            connection.execute(select(table.c.seq).where(told).order_by(by).limit(1)).scalar()
            for by in (table.c.seq, table.c.seq.desc())
        ]
        seqs = [seq for seq in ends if seq is not None]
        if table is READINGS:
            seqs += packed.ends(connection, part)
        if not seqs:
            continue
        oldest, newest = min(seqs), max(seqs)
        wanted = select(GAPS).where(
            (GAPS.c.boot_id == part.boot_id)
            & (GAPS.c.stream == stream)
            & (GAPS.c.to_seq >= oldest)
            & ((GAPS.c.from_seq <= newest) | (GAPS.c.to_seq == TO_THE_END))
        )
        rows = connection.execute(wanted.order_by(GAPS.c.from_seq, GAPS.c.to_seq))
        found += _merged([GapRow(*row) for row in rows])
    return found


def _merged(gaps: list[GapRow]) -> list[GapRow]:
    """Put gaps of one stream together that touch and have the same reason."""
    found: list[GapRow] = []
    for gap in gaps:
        last = found[-1] if found else None
        if last is not None and gap.from_seq <= last.to_seq + 1 and gap.why == last.why:
            found[-1] = last._replace(to_seq=max(last.to_seq, gap.to_seq))
        else:
            found.append(gap)
    return found


def _within(table: Table, part: PartRow) -> Any:
    inside = (table.c.boot_id == part.boot_id) & (table.c.at_ms >= part.start_ms)
    return inside if part.end_ms is None else inside & (table.c.at_ms <= part.end_ms)
