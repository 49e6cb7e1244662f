"""Measures of writing: one event in an open process, a loaded file, and new events into a reading copy."""

from __future__ import annotations

import gc
import resource
import sqlite3
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

from ledger.book import Book
from ledger.read import Copy
from tests.bench.books import begin
from tests.bench.clock import Row, row
from tests.bench.world import Event

REGISTER = ("house", "enclosure", "party", "taxon")
PRAGMAS = ("journal_mode=DELETE", "synchronous=EXTRA", "fullfsync=ON", "cache_size=-65536")


def bare(path: Path) -> sqlite3.Connection:
    """A table of bytes and nothing else, as durable as a book."""
    path.unlink(missing_ok=True)
    db = sqlite3.connect(path, isolation_level=None)
    for pragma in PRAGMAS:
        db.execute(f"pragma {pragma}")
    db.execute("create table e (seq integer primary key, body blob not null) strict")
    return db


def one_event(book: Book, folder: Path, entries: list[dict[str, Any]], name: str) -> Row:
    """`Book.append` of one entry at a time, in turn with a bare durable commit of the same bytes."""
    db = bare(folder / "bare.db")
    ours, floor = [], []
    for entry in entries:
        start = time.perf_counter()
        out = book.append(entry, by="BK", accept={"late": ""})
        ours.append(time.perf_counter() - start)
        assert out.landed, out.findings[0].sentence()
        data = book.store.event(out.position).data
        start = time.perf_counter()
        db.execute("begin immediate")
        db.execute("insert into e (body) values (?)", (data,))
        db.execute("commit")
        floor.append(time.perf_counter() - start)
    db.close()
    middle = len(ours) // 2
    return row(name, sorted(ours)[middle], sorted(floor)[middle], 2, "medians")


def recorded(book: Book, folder: Path) -> Iterator[Row]:
    """Moves of single animals, and deaths in a lot with 3,000 events."""
    book.chance.at("2026-02-20T08:00:00Z")  # type: ignore[attr-defined]  # a simulated clock
    index = book.index
    animals = []
    for thing in list(index.of_sort("animal"))[-4_000:]:
        cells = list(index.tale(thing.id).state.cells)
        if len(cells) == 1 and cells[0].place[:2] == "e-":
            animals.append((thing, cells[0].place))
    entries = []
    for thing, place in animals[:40]:
        others = (t.code for t in index.of_sort("enclosure") if t.house == thing.house and t.id != place)
        move = {"animal": f"{index.name(thing.house)}:{thing.code}", "to": next(others)}
        entries.append({"kind": "move", "occurred": "2024-02-19", "payload": move})
    yield one_event(book, folder, entries, "record one event, open process, 100 k")
    lot = {"lot": "SHOAL", "taxon": "Genus0 species0", "enclosure": "E0000", "how_many": {"u": 500_000}}
    begin_day = date(2014, 1, 1).toordinal()
    made = [{"kind": "hatching", "occurred": "2014-01-01", "payload": lot}]
    made += [_dies(date.fromordinal(begin_day + n)) for n in range(1, 3_001)]
    for at in range(0, len(made), 1_000):
        out = book.append(made[at : at + 1_000], by="BK", accept={"late": ""})
        assert out.landed, out.findings[0].sentence()
    more = [_dies(date.fromordinal(begin_day + 3_670 + n)) for n in range(30)]
    yield one_event(book, folder, more, "record one event into a lot with 3,000 events")


def _dies(day: date) -> dict[str, Any]:
    payload = {"lot": "SHOAL", "how_many": {"u": 1}}
    return {"kind": "death", "occurred": day.isoformat(), "payload": payload}


def loaded(folder: Path, events: int) -> Iterator[Row]:
    """A file of `events` typed entries with 5 % late, through `Book.load`, against raw inserts of the same bytes."""
    path = folder / "load.tidemark"
    path.unlink(missing_ok=True)
    book, chance, world = begin(str(path), 11, late=0.05)
    rows: list[list[Any]] = [[]]
    for batch in world.batches(events):
        for event in batch.events:
            if len(rows[-1]) == 1_000:
                rows.append([])
            rows[-1].append((event.typed(), None))
    chance.at("2026-02-20T08:00:00Z")
    chance.ids += world.ids
    gc.collect()
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    start = time.process_time(), time.perf_counter()
    out = book.load(rows, by="BK", accept={"late": ""})
    took = time.perf_counter() - start[1]
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) // 1024
    bad = [o for o in out if not o.landed]
    assert not bad, bad[0].findings[0].sentence()
    data = [stored.data for stored in book.store.events(after=3)]
    book.close()
    db = bare(folder / "bare.db")
    start_floor = time.perf_counter()
    for at in range(0, len(data), 1_000):
        db.execute("begin immediate")
        db.executemany("insert into e (body) values (?)", [(body,) for body in data[at : at + 1_000]])
        db.execute("commit")
    floor = time.perf_counter() - start_floor
    db.close()
    note = f"{took / len(data) * 1e6:.0f} µs an event against {floor / len(data) * 1e6:.1f}; memory grew {grown} MB"
    yield row(f"load of {len(data)} events, 5 % late", took, floor, 14, note)


def refreshed(copy: Copy, add: list[Event], bulk: Any, at: str, path: Path, size: str) -> Row:
    """New events into an open copy, against reading their rows through SQLite."""
    head = copy.head.position
    with bulk.store.begin() as tx:
        bulk.write(add, at, tx)
    start = time.perf_counter()
    copy.refresh()
    took = time.perf_counter() - start
    db = sqlite3.connect(path)
    start = time.perf_counter()
    db.execute("select * from event where seq > ?", (head,)).fetchall()
    last = db.execute(
        "select last_posting, last_open_row from batch where known_from <= ? order by 1 desc", (head,)
    ).fetchone()
    db.execute("select * from posting where id > ?", (last[0],)).fetchall()
    db.execute("select * from open_row where id > ?", (last[1],)).fetchall()
    floor = time.perf_counter() - start
    db.close()
    return row(f"read {len(add)} new events into an open copy, {size}", took, floor, 0, "the same at every size")
