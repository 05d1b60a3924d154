"""What a record costs on PostgreSQL as it grows: bytes, commits, and each question to it.

    python tests/bench/growth.py --json

Starts a PostgreSQL with the package's own settings, copies two records into it, the second five
times as large (synthetic runs of 10,000 readings), and puts every question of the store to both.
What each costs is the server's own word: `auto_explain` tells of every statement its time, rows
and pages of 8 KB, and whether it read a whole table. Bytes are of tables with their indexes.
`commits` are live readings from several hosts (processes) at once, each rig with a commit for
every reading, as fast as they go. Nothing here has a bound; host/docs/growth.md reckons with it.
"""

import argparse
import json
import multiprocessing
import os
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from bench.servers import a_database
from bench.store import fill, identity
from host.store.questions import QUESTIONS
from host.synthetic import synthetic
from sqlalchemy import event, text

from snapgloss.broker.messages import reading_message
from snapgloss.runs.copying import copy_to
from snapgloss.store import open_store
from snapgloss.store.packed import ends
from snapgloss.store.store import Store

READINGS = 10_000
LARGER = 5
HOSTS = (1, 4, 16)
COMMITS = 200
EXPLAIN = (
    "LOAD 'auto_explain'",
    "SET auto_explain.log_min_duration = 0",
    "SET auto_explain.log_analyze = on",
    "SET auto_explain.log_buffers = on",
    "SET auto_explain.log_format = json",
    "SET client_min_messages = log",
)


@contextmanager
def explained(store: Store) -> Iterator[list[dict[str, Any]]]:
    """The plans of what the server does meanwhile, as it tells them."""
    plans: list[dict[str, Any]] = []

    def told(diagnostic: Any) -> None:
        _head, found, plan = str(diagnostic.message_primary).partition("plan:\n")
        if found:
            plans.append(json.loads(plan))

    def connected(connection: Any, _record: Any) -> None:
        connection.add_notice_handler(told)
        for statement in EXPLAIN:
            connection.execute(statement)
        connection.commit()

    store._engine.dispose()
    event.listen(store._engine, "connect", connected)
    yield plans
    event.remove(store._engine, "connect", connected)
    store._engine.dispose()


def cost(plans: list[dict[str, Any]]) -> dict[str, Any]:
    """One question's statements together."""
    tops = [plan["Plan"] for plan in plans]
    whole = sorted({name for top in tops for name in read_whole(top)})
    return {
        "statements": len(tops),
        "server_ms": round(sum(top["Actual Total Time"] for top in tops), 3),
        "rows": sum(top["Actual Rows"] * top["Actual Loops"] for top in tops),
        "pages": sum(top["Shared Hit Blocks"] + top["Shared Read Blocks"] for top in tops),
        "reads_whole": whole,
    }


def read_whole(node: dict[str, Any]) -> Iterator[str]:
    """The tables that a plan reads from end to end."""
    if node["Node Type"] == "Seq Scan":
        yield node["Relation Name"]
    for below in node.get("Plans", ()):
        yield from read_whole(below)


def questions(store: Store) -> dict[str, Any]:
    """Each question once, of a run in the midst of the record where it is about a run."""
    runs = [run.id for run in store.runs()]
    run = runs[len(runs) // 2]
    boot = store.parts(run)[0].boot_id
    found = {}
    with explained(store) as plans:
        for name, arguments in QUESTIONS.items():
            given = arguments([run], [boot])[0]
            getattr(store, name)(*given)  # once before: the pages are in memory then
            plans.clear()
            began_s = time.perf_counter()
            getattr(store, name)(*given)
            took_ms = (time.perf_counter() - began_s) * 1000
            found[name] = {**cost(plans), "took_ms": round(took_ms, 2)}
    return found


def sizes(store: Store, readings: int) -> dict[str, Any]:
    """Bytes of tables with their indexes."""
    sql = "SELECT relname, pg_total_relation_size(oid) FROM pg_class WHERE relkind = 'r' AND "
    sql += "relnamespace = 'public'::regnamespace"
    with store._engine.connect() as connection:
        by_table = {str(row[0]): int(row[1]) for row in connection.execute(text(sql))}
    rest = sum(by_table.values()) - by_table["readings"] - by_table["packed"]
    return {
        "bytes_per_reading": round(by_table["readings"] / readings, 1),
        "bytes_beside": rest,
        "mb_in_all": round(sum(by_table.values()) / 1e6, 1),
    }


def partitioned(store: Store, parts: int = 4) -> dict[str, Any]:
    """The readings again in a table in parts by the number of their boot, which grows with time:
    how many parts the question for a run looks into, and that a reading is still kept once."""
    with store._engine.connect() as connection:
        most = connection.execute(text("SELECT max(id) FROM boots")).scalar_one()
        step = most // parts + 1
        connection.execute(text(
            "CREATE TEMP TABLE in_parts (LIKE readings, PRIMARY KEY (boot_id, seq)) "
            "PARTITION BY RANGE (boot_id)"
        ))  # fmt: skip
        for first in range(0, step * parts, step):
            connection.execute(text(
                f"CREATE TEMP TABLE part_{first} PARTITION OF in_parts "
                f"FOR VALUES FROM ({first}) TO ({first + step})"
            ))  # fmt: skip
        fill_in = text("INSERT INTO in_parts SELECT * FROM readings ON CONFLICT DO NOTHING")
        came, again = (connection.execute(fill_in).rowcount for _ in range(2))
        wanted = f"SELECT * FROM in_parts WHERE boot_id = {most // 2} AND at_ms >= 0 ORDER BY seq"
        explain = text(f"EXPLAIN (ANALYZE, BUFFERS, FORMAT JSON) {wanted}")
        plan = connection.execute(explain).scalar_one()[0]
    return {"parts": parts, "came": came, "came_again": again,
            "parts_read": json.dumps(plan).count('"Relation Name"'), **cost([plan])}  # fmt: skip


def packed_bytes(store: Store, readings: int) -> float:
    """Bytes of a reading once packed; every run is."""
    for run in store.runs():
        store.pack_run(run.id)
    with store._engine.connect() as connection:
        assert ends(connection, store.parts(1)[0])
        total = connection.execute(text("SELECT pg_total_relation_size('packed')")).scalar_one()
    return round(int(total) / readings, 1)


def of_size(runs: int) -> dict[str, Any]:
    """Make, copy, ask."""
    readings = runs * READINGS
    with tempfile.TemporaryDirectory() as folder, a_database() as url:
        fill(Path(folder), runs, READINGS)
        _figures(Path(folder), runs)
        copy_to(Path(folder), url, lambda *_told: None)
        with open_store(url) as store:
            found = {"runs": runs, "readings": readings, **sizes(store, readings)}
            found["questions"] = questions(store)
            found["partitioned"] = partitioned(store)
            found["packed_bytes_per_reading"] = packed_bytes(store, readings)
    return found


def _figures(folder: Path, runs: int) -> None:
    """As many of each run as a real batch has; made up."""
    with open_store(folder) as store:
        for first in range(1, runs + 1):
            names = ("lowest_c", "peak", *(f"figure_{number}" for number in range(40)))
            store.save_figures(first, dict.fromkeys(names, first / 7))


def _one_host(url: str, number: int) -> list[float]:
    """Milliseconds of each commit."""
    readings = synthetic(seed=number).readings[:COMMITS]
    took_ms = []
    with open_store(url) as store:
        boot = store.boot_id(identity(10_000 + number))
        for reading in readings:
            began_s = time.perf_counter()
            store.add_told(boot, [reading], [], [])
            took_ms.append((time.perf_counter() - began_s) * 1000)
    return took_ms


def commits() -> list[dict[str, Any]]:
    """Several hosts at once; the wall's seconds are of the slowest."""
    found = []
    spawned = multiprocessing.get_context("spawn")
    for hosts in HOSTS:
        with a_database() as url, ProcessPoolExecutor(hosts, spawned) as pool:
            open_store(url).close()
            list(pool.map(_ready, range(hosts * 2)))
            each = list(pool.map(_one_host, [url] * hosts, range(hosts)))
        took_ms = sorted(ms for one in each for ms in one)
        found.append({
            "hosts": hosts,
            "commits_per_s": round(sum(1000 * len(one) / sum(one) for one in each)),
            "p95_ms": round(took_ms[int(0.95 * len(took_ms))], 1),
        })  # fmt: skip
    return found


def _ready(_number: int) -> None:
    time.sleep(0.1)  # so that every process gets one


def main() -> int:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--runs", type=int, default=40, help="of the smaller record")
    asked = parser.parse_args()
    found: dict[str, Any] = {"load": round(os.getloadavg()[0], 1), "processors": os.cpu_count()}
    found["records"] = [of_size(asked.runs), of_size(asked.runs * LARGER)]
    small, large = found["records"]
    beside = large["bytes_beside"] - small["bytes_beside"]
    found["bytes_per_run_beside_readings"] = round(beside / (large["runs"] - small["runs"]))
    found["commits"] = commits()
    message = reading_message("snapgloss", identity(7), synthetic().readings[5000])
    found["broker_bytes_per_reading"] = len(message.topic) + len(message.payload)
    print(json.dumps(found, indent=2))
    return 0


if __name__ == "__main__":
    sys.exit(main())
