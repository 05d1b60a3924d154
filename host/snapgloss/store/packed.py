"""Where packed readings lie, and how they join those that are still rows."""

from sqlalchemy import ColumnElement, Connection, delete, func, insert, select

from snapgloss.base.errors import StoreBusy
from snapgloss.base.records import Reading
from snapgloss.store.packing import pack, unpack
from snapgloss.store.rows import PartRow
from snapgloss.store.tables import PACKED, READINGS

_FAR_MS = 2**62


def in_part(connection: Connection, part: PartRow) -> list[Reading]:
    """The packed readings of a part, in order, with the rig's own times."""
    wanted = select(PACKED.c.content).where(_touches(part)).order_by(PACKED.c.first_seq)
    end_ms = _end_ms(part)
    blocks = connection.execute(wanted).scalars().all()
    found = [reading for block in blocks for reading in unpack(block)]
    if found and part.start_ms <= found[0].at_ms and found[-1].at_ms <= end_ms:
        return found
    return [reading for reading in found if part.start_ms <= reading.at_ms <= end_ms]


def ends(connection: Connection, part: PartRow) -> list[int]:
    """The least and the greatest number of a part's packed readings; empty without any.

    Nothing is unpacked where the blocks lie within the part, which they nearly always do.
    """
    c, end_ms = PACKED.c, _end_ms(part)
    wanted = select(c.first_seq, c.last_seq, c.first_at_ms, c.last_at_ms).where(_touches(part))
    blocks = connection.execute(wanted).all()
    within = all(part.start_ms <= first_ms and ms <= end_ms for _, _, first_ms, ms in blocks)
    if not within:
        seqs = [reading.seq for reading in in_part(connection, part)]
        return [seqs[0], seqs[-1]] if seqs else []
    return [min(row[0] for row in blocks), max(row[1] for row in blocks)] if blocks else []


def is_any(connection: Connection, part: PartRow) -> bool:
    """Whether readings of a part are packed."""
    wanted = select(PACKED.c.first_seq).where(_touches(part)).limit(1)
    return connection.execute(wanted).first() is not None


def _end_ms(part: PartRow) -> int:
    return _FAR_MS if part.end_ms is None else part.end_ms


def _touches(part: PartRow) -> ColumnElement[bool]:
    return (
        (PACKED.c.boot_id == part.boot_id)
        & (PACKED.c.last_at_ms >= part.start_ms)
        & (PACKED.c.first_at_ms <= _end_ms(part))
    )


def last_seq(connection: Connection, boot_id: int) -> int:
    """The newest packed reading's number; -1 where none is packed."""
    newest = select(func.coalesce(func.max(PACKED.c.last_seq), -1))
    return int(connection.execute(newest.where(PACKED.c.boot_id == boot_id)).scalar_one())


def pack_part(connection: Connection, part: PartRow) -> int:
    """Pack the rows of a closed run's part; return how many there were. A part without an end is
    one whose boot is over: all the rest of that boot is its. Raises StoreBusy when another host
    writes readings of it at this moment."""
    where = (READINGS.c.boot_id == part.boot_id) & (READINGS.c.at_ms >= part.start_ms)
    if part.end_ms is not None:
        where &= READINGS.c.at_ms <= part.end_ms
    columns = [READINGS.c[name] for name in Reading._fields]
    rows = connection.execute(select(*columns).where(where).order_by(READINGS.c.seq)).all()
    if not rows:
        return 0
    readings = list(map(Reading._make, rows))
    block = {
        "boot_id": part.boot_id,
        "first_seq": readings[0].seq,
        "last_seq": readings[-1].seq,
        "first_at_ms": min(reading.at_ms for reading in readings),
        "last_at_ms": max(reading.at_ms for reading in readings),
        "content": pack(readings),
    }
    connection.execute(insert(PACKED), block)
    if connection.execute(delete(READINGS).where(where)).rowcount != len(readings):
        raise StoreBusy("Readings of this batch are being written.", "Pack it again later.")
    return len(readings)
